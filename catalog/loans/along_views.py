"""A picture of holds along time, with the same as a table."""

from django.http import HttpRequest, HttpResponse

from catalog.core import clock
from catalog.core.http import render_page
from catalog.loans.along_forms import AlongForm
from catalog.loans.along_queries import along
from catalog.loans.pages import hold_steps, status_of


def along_time(request: HttpRequest) -> HttpResponse:
    """Who has a piece, the pieces of a set or of a role, on which days."""
    form = AlongForm(request.GET if "of" in request.GET else None)
    shown = None
    if form.is_bound and form.is_valid():
        what, pieces = form.cleaned_data["of"]
        shown = along(what, pieces, form.cleaned_data["first"], form.cleaned_data["last"])
    context = {"form": form, "shown": shown, "today": clock.today(), "steps": hold_steps(None, "Along time")}
    return render_page(request, "catalog/loans/along_time.html", context, status=status_of(form))
