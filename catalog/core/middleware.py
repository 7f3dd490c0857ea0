"""What no view caught: an error with a sentence becomes a page with that sentence."""

from collections.abc import Callable

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render

from catalog.core.errors import CatalogError, NotAllowed


class SentenceMiddleware:
    """Turns NotAllowed into 403 and any other CatalogError into a 409 page that keeps its sentence."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponseBase | None:
        """Only our own errors; everything else is a fault and stays one."""
        if isinstance(error, NotAllowed):
            raise PermissionDenied(error.sentence) from error
        if isinstance(error, CatalogError):
            return render(request, "409.html", {"sentence": error.sentence}, status=409)
        return None
