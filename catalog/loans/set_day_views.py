"""The count back of a day at the set: a red list of what is still out, and the end of the day."""

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core import clock
from catalog.core.http import render_page
from catalog.loans import actions
from catalog.loans.pages import loan_or_404, loan_steps, status_of
from catalog.loans.set_day_queries import count_back
from catalog.loans.set_forms import CloseDayForm
from catalog.pieces.pages import done


@require_http_methods(["GET", "POST"])
def count_back_page(request: HttpRequest, reference: str) -> HttpResponse:
    """What is still out, by performer and piece; today's unless another day is asked for."""
    user, found, day = signed_in(request), loan_or_404(reference), _day(request)
    form = CloseDayForm(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        facts = {"noted_by": request.POST.get("noted_by", ""), "note": request.POST.get("note", "")}
        if done(form, lambda: actions.close_set_day(by=user, loan=found, day=day, **facts)):
            messages.success(request, f"{day:%-d %b %Y} is closed.")
            return redirect(f"{request.path}?day={day.isoformat()}")
    count = count_back(found, day)
    on_set = {"word": "On set", "url": reverse("loans:on_set", args=[found.reference])}
    context = {
        "loan": found,
        "count": count,
        "groups": [(rows[0], rows) for rows in count.by_performer().values()],
        "form": form if count.open and count.closed is None else None,
        "faults": form.non_field_errors() if form.is_bound else (),
        "has_errors": form.is_bound and bool(form.errors),
        "is_today": day == clock.today(),
        "days": [row.day for row in found.set_days.all()],
        "by_name": can(user, Ability.SEE_OUTFITS),
        "steps": [*loan_steps(found), on_set, {"word": "Count back", "url": ""}],
    }
    return render_page(request, "catalog/loans/count_back.html", context, status=status_of(form))


def _day(request: HttpRequest) -> date:
    """The day of the address; one that cannot be read, or lies ahead, is today."""
    try:
        asked = date.fromisoformat(request.GET.get("day", ""))
    except ValueError:
        return clock.today()
    return min(asked, clock.today())
