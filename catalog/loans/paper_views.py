"""Papers of a loan."""

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core import clock, house
from catalog.core.errors import Refused
from catalog.core.http import render_page
from catalog.core.paper.page import pdf_response, size_asked
from catalog.core.tables import csv_response
from catalog.loans import gap_cards as cards
from catalog.loans import loss_paper, report_paper, set_papers
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
        "ready": sum(not row.why_not for row in rows) + living + (found.call is not None),
        "every": len(rows) + (found.hold is not None) + (found.call is not None),
        "hold_living": living,
        "sees_costs": can(request.user, Ability.COSTS),
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


def sign_out_sheet(request: HttpRequest, reference: str) -> HttpResponse:
    """Wardrobe's copy: who gets which piece."""
    found = loan_or_404(reference)
    printable(found, "loans:sign_out_sheet")
    parts = set_papers.sign_out_parts(found)
    return loan_paper(request, found, "Sign-out sheet, wardrobe's copy", f"sign-out-{found.reference}", parts)


def sign_out_production(request: HttpRequest, reference: str) -> HttpResponse:
    """Production's copy: who is dressed, and no piece."""
    found = loan_or_404(reference)
    printable(found, "loans:sign_out_production")
    parts = set_papers.production_parts(found)
    return loan_paper(request, found, "Sign-out sheet, production's copy", f"performers-{found.reference}", parts)


def count_back_sheet(request: HttpRequest, reference: str) -> HttpResponse:
    """What should be in at night."""
    found = loan_or_404(reference)
    printable(found, "loans:count_back_sheet")
    parts = set_papers.count_back_parts(found)
    return loan_paper(request, found, "Count-back sheet", f"count-back-{found.reference}", parts)


def count_back_table(request: HttpRequest, reference: str) -> HttpResponseBase:
    """The same as a table."""
    found = loan_or_404(reference)
    printable(found, "loans:count_back_sheet")
    return csv_response(f"count-back-{found.reference}.csv", set_papers.HEADER, set_papers.count_back_rows(found))


def loss_list(request: HttpRequest, reference: str) -> HttpResponse:
    """What is lost and damaged, with values."""
    found = loan_or_404(reference)
    printable(found, "loans:loss_list")
    parts = loss_paper.loss_parts(found, loss_paper.losses_of(found))
    warning = "Confidential: it names values."
    return loan_paper(request, found, "Loss and damage list", f"losses-{found.reference}", parts, warning)


def loss_csv(request: HttpRequest, reference: str) -> HttpResponseBase:
    """The same as a table."""
    found = loan_or_404(reference)
    printable(found, "loans:loss_list")
    rows = loss_paper.loss_rows(loss_paper.losses_of(found))
    return csv_response(f"losses-{found.reference}.csv", loss_paper.HEADER, rows)


def out_report(request: HttpRequest, reference: str) -> HttpResponse:
    """The state of each piece as it leaves."""
    return _condition(request, reference, "out")


def in_report(request: HttpRequest, reference: str) -> HttpResponse:
    """The state of each piece as it came back."""
    return _condition(request, reference, "in")


def _condition(request: HttpRequest, reference: str, way: str) -> HttpResponse:
    found = loan_or_404(reference)
    printable(found, f"loans:{way}_report")
    parts = report_paper.condition_parts(found, way, signed_in(request))
    return loan_paper(request, found, report_paper.TITLES[way], f"{way}-report-{found.reference}", parts)
