"""The pull list on paper, with what the travel rules say of each piece: only the desk knows both."""

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase

from catalog.core.tables import csv_response
from catalog.desk.travel import name_what_stays
from catalog.loans.loan_queries import PullRow, pull_list
from catalog.loans.models import Loan
from catalog.loans.pages import loan_or_404
from catalog.loans.paper_frame import loan_paper
from catalog.loans.paper_queries import printable
from catalog.loans.pull_paper import HEADER, pull_parts, pull_rows


def pull_paper(request: HttpRequest, reference: str) -> HttpResponse:
    """To walk with, ?size=a4 or letter."""
    found = loan_or_404(reference)
    return loan_paper(request, found, "Pull list", f"pull-{found.reference}", pull_parts(found, _rows(found)))


def pull_csv(request: HttpRequest, reference: str) -> HttpResponseBase:
    """The same as a table."""
    found = loan_or_404(reference)
    return csv_response(f"pull-{found.reference}.csv", HEADER, pull_rows(_rows(found)))


def _rows(loan: Loan) -> list[PullRow]:
    printable(loan, "desk:pull_paper")
    rows = pull_list(loan)
    name_what_stays(loan, rows)
    return rows
