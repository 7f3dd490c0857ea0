"""Who handled a piece, and the custody statement for an insurer."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from catalog.core.http import render_page
from catalog.core.paper.page import heading_for, paper_pdf, pdf_response, size_asked
from catalog.desk.custody_paper import custody_parts
from catalog.desk.custody_queries import custody_of
from catalog.desk.custody_queries import handled as handled_by
from catalog.pieces.pages import steps_to, the_piece
from catalog.storage.queries import label_of, where_is


def handled(request: HttpRequest, number: str) -> HttpResponse:
    """Everyone who handled the piece."""
    piece = the_piece(request, number)
    context = {"piece": piece, "found": handled_by(piece), "steps": steps_to(piece, "Who handled it")}
    return render_page(request, "catalog/desk/handled.html", context)


def custody(request: HttpRequest, number: str) -> HttpResponse:
    """The dated sightings as a PDF, ?size=a4 or letter."""
    piece = the_piece(request, number)
    size = size_asked(request)
    heading = heading_for(
        request,
        f"Custody statement, {piece.number}",
        about=reverse("desk:piece", args=[piece.number]),
        warning="Confidential: for the insurer of this piece.",
    )
    label = label_of(piece=piece)
    made = custody_parts(piece, custody_of(piece), where_is(piece).sentence, label.code if label else "")
    data = paper_pdf(heading, list(made), size)
    return pdf_response(f"custody-{piece.number}-{heading.printed:%Y-%m-%d}.pdf", data)
