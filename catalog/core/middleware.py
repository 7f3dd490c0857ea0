"""What no view caught: an error with a sentence becomes a page with that sentence, a busy database one with another."""

from collections.abc import Callable

from django.core.exceptions import PermissionDenied
from django.db import OperationalError
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render

from catalog.core.errors import CatalogError, NotAllowed

BUSY = "Others were writing the same things at this very moment. Nothing of yours was kept: send it once more."
# PostgreSQL's words for a transaction that it ended in favour of another: a ring of waiters, a lost race.
_GIVEN_UP = {"40P01", "40001", "55P03"}


class SentenceMiddleware:
    """Turns NotAllowed into 403 and any other CatalogError into a 409 page that keeps its sentence."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponseBase | None:
        """Our own errors, and a database that was too busy; everything else is a fault and stays one."""
        if isinstance(error, NotAllowed):
            raise PermissionDenied(error.sentence) from error
        if isinstance(error, CatalogError):
            return render(request, "409.html", {"sentence": error.sentence}, status=409)
        if isinstance(error, OperationalError) and _busy(error):
            return render(request, "409.html", {"sentence": BUSY}, status=503)
        return None


def _busy(error: OperationalError) -> bool:
    """Whether the database was only waiting for others, so that the same request may be sent again."""
    return getattr(error.__cause__, "sqlstate", None) in _GIVEN_UP or "database is locked" in str(error)
