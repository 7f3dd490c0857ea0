"""The on-set pages without signal: one shell for all of them, and the worker that opens it on a phone."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from catalog.core import no_signal
from catalog.core.no_signal import SilentPage, shell_context

SET_PAGE = SilentPage(
    name="on-set",
    pages=r"^/loans/[^/]+/on-set/(performers/[^/]+/)?$",
    opens="loans:set_shell",
    files=("catalog/css/onset.css", "catalog/js/set-silent.js"),
    templates=("catalog/loans/on_set_shell.html",),
)


@never_cache
@require_GET
def shell(request: HttpRequest) -> HttpResponse:
    """An on-set page as it opens without signal: nobody's name or number, nothing of the store, no token."""
    return render(request, "catalog/loans/on_set_shell.html", shell_context())


@never_cache
@require_GET
def worker(request: HttpRequest) -> HttpResponse:
    """The program that answers for the on-set pages without signal."""
    return no_signal.worker(SET_PAGE)
