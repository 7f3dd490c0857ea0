"""Papers of a loan."""

from django.http import HttpRequest, HttpResponse

from catalog.access.people import signed_in
from catalog.core import clock, house
from catalog.core.errors import Refused
from catalog.core.http import render_page
from catalog.core.paper.page import pdf_response, size_asked
from catalog.loans import gap_cards as cards
from catalog.loans.agreement import agreement_parts
from catalog.loans.hold_note import note_parts, refuse_dead
from catalog.loans.pages import hold_or_404, loan_or_404, loan_steps
from catalog.loans.paper_frame import hold_paper, loan_paper
from catalog.loans.paper_queries import papers_for, printable
from catalog.loans.queries import is_living


def papers(request: HttpRequest, reference: str) -> HttpResponse:
    """Every paper of the loan, what it is for, and which cannot be printed now and why."""
    found = loan_or_404(reference)
    rows = papers_for(found, signed_in(request))
    living = found.hold is not None and is_living(found.hold, clock.today())
    context = {
        "loan": found,
        "rows": rows,
        "ready": sum(not row.why_not for row in rows) + living,
        "every": len(rows) + (found.hold is not None),
        "hold_living": living,
        "steps": loan_steps(found, "Papers"),
    }
    return render_page(request, "catalog/loans/papers.html", context)


def gap_cards(request: HttpRequest, reference: str) -> HttpResponse:
    """What stays on the shelf for each piece of the loan, ?size=a4 or letter."""
    found = loan_or_404(reference)
    size = size_asked(request)
    made = cards.cards_of(found)
    if not made:
        raise Refused(f"Nothing of {found} leaves its shelf: there is no card to print.")
    return pdf_response(f"gap-cards-{found.reference}.pdf", cards.cards_pdf(made, size, str(house.value("house.name"))))


def hold_note(request: HttpRequest, reference: str) -> HttpResponse:
    """What a hold reserves, for whoever asked for it."""
    found = hold_or_404(reference)
    refuse_dead(found, clock.today())
    return hold_paper(request, found, "Hold note", f"hold-{found.reference}", note_parts(found))


def agreement(request: HttpRequest, reference: str) -> HttpResponse:
    """The agreement to sign before anything leaves; it names values."""
    found = loan_or_404(reference)
    printable(found, "loans:agreement")
    return loan_paper(request, found, "Loan agreement", f"agreement-{found.reference}", agreement_parts(found))
