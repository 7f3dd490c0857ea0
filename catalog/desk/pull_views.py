"""The pull list with what the travel rules say, before anything is taken from the shelf."""

from django.http import HttpRequest, HttpResponse

from catalog.desk.travel import name_what_stays
from catalog.loans import loan_views


def pull(request: HttpRequest, reference: str) -> HttpResponse:
    """The pull list of the loans room; each piece that stays by the travel rules says so at its row and when scanned.

    Naming it refuses nothing: what the house itself forbids (pest work, quarantine) the pull refuses.
    """
    return loan_views.pull(request, reference, warn=name_what_stays)
