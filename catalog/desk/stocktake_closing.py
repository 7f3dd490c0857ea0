"""Closing a stocktake knows of jobs: what is pulled or packed for a loan is on no shelf, and not missing either."""

from django.http import HttpRequest, HttpResponse

from catalog.loans.models import LoanLine
from catalog.loans.queries import AWAY
from catalog.storage import tally_views


def on_jobs() -> set[int]:
    """Ids of the pieces that an open loan has taken from their place."""
    return set(LoanLine.objects.filter(state__in=AWAY).values_list("piece", flat=True))


def close(request: HttpRequest, reference: str) -> HttpResponse:
    """Close it; pieces on a job are left out, and its history names them."""
    return tally_views.close(request, reference, on_jobs())
