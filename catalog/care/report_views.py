"""The condition report of one piece, outside any loan: written, and read with its pins."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET, require_http_methods

from catalog.care import actions
from catalog.care.report_boards import boards_of
from catalog.care.report_pages import Task, report_page
from catalog.core.http import render_page
from catalog.pieces.pages import back_to, signed_in, steps_to, the_piece


@require_http_methods(["GET", "POST"])
def report(request: HttpRequest, number: str) -> HttpResponse:
    """What may be done with the piece, and its marks with their pins; `?picture=` opens that picture.

    With `across` and `down` beside it (both in per cent) a pin stands there already.
    """
    user, piece = signed_in(request), the_piece(request, number)
    task = Task(
        piece=piece,
        last=piece.reports.first(),
        keep=partial(actions.report_condition, by=user, piece=piece),
        done_at=lambda: back_to(request, piece, f"The condition of {piece.number} is reported and signed."),
        answer=f"Report the condition of {piece.number}.",
    )
    return report_page(request, task)


@require_GET
def reported(request: HttpRequest, number: str, report_id: int) -> HttpResponse:
    """One report as it was signed: its pins on each picture and outline, its marks beside."""
    piece = the_piece(request, number)
    found = get_object_or_404(piece.reports.select_related("reported_by", "look"), pk=report_id)
    marks = list(found.marks.select_related("file"))
    boards = boards_of(piece, request.user, [row.file for row in found.pictures.select_related("file")], marks)
    context = {
        "piece": piece,
        "report": found,
        "marks": marks,
        "boards": boards,
        "newest": piece.reports.first(),
        "others": piece.reports.exclude(pk=found.pk)[:20],
        "no_letters": {},
        "steps": steps_to(piece, "Condition report"),
    }
    return render_page(request, "catalog/care/reported.html", context)
