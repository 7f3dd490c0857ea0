"""The fitting list of a call: a page to print and hang on the rail, and a table."""

from datetime import date, time
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from catalog.core import clock
from catalog.core.http import render_page
from catalog.core.tables import csv_response
from catalog.fitting.calc.plan_types import PlanError
from catalog.fitting.day_forms import FittingDayForm
from catalog.fitting.day_queries import HEADER, FittingDay, fitting_day, table_rows, who_comes
from catalog.fitting.models import Plan
from catalog.fitting.plan_queries import kept_plan
from catalog.fitting.queries import DryRun, dry_run
from catalog.loans.models import Call
from catalog.loans.pages import call_or_404, call_steps

START, MINUTES, PAUSE_AT, PAUSE_MINUTES = time(9, 0), 20, time(12, 30), 45


@never_cache
@require_GET
def fitting_list(request: HttpRequest, reference: str) -> HttpResponse:
    """Who comes when, and what hangs ready; nothing is stored and nobody is told."""
    call = call_or_404(reference)
    context: dict[str, Any] = {"call": call, "steps": call_steps(call, "Fitting list"), "now": clock.now()}
    try:
        run = dry_run(call)
    except PlanError as stuck:
        return render_page(request, "catalog/fitting/dry_run_stuck.html", context | {"why": str(stuck)}, status=409)
    kept = kept_plan(call)
    form, found = _ask(request, run, kept)
    comes = {number for number, _ in form.fields["leave_out"].choices}  # type: ignore[attr-defined]
    context |= {
        "kept": kept,
        "form": form,
        "found": found,
        "people": len(run.wearers),
        "query": request.GET.urlencode(),
        "left_out": [w for number, w in run.wearers.items() if number not in comes] if found else [],
    }
    return render_page(request, "catalog/fitting/fitting_list.html", context, status=200 if found else 422)


@never_cache
@require_GET
def fitting_list_csv(request: HttpRequest, reference: str) -> HttpResponse:
    """The same list as a table; with a wrong question the page says what is wrong."""
    call = call_or_404(reference)
    try:
        _, found = _ask(request, dry_run(call), kept_plan(call))
    except PlanError:
        found = None
    if found is None:
        return fitting_list(request, reference)
    return csv_response(f"fittings-{call.reference}-{found.day}.csv", HEADER, table_rows(found))  # type: ignore[return-value]


def _ask(request: HttpRequest, run: DryRun, plan: Plan | None) -> tuple[FittingDayForm, FittingDay | None]:
    comes = who_comes(run, plan)
    people = [(f.wearer, f"{f.wearer} {run.wearers[f.wearer].name}".strip()) for f in comes]
    usual: dict[str, Any] = {"day": first_day(run.call), "start": START, "minutes": MINUTES, "pause_at": PAUSE_AT}
    usual |= {"pause_minutes": PAUSE_MINUTES}
    form = FittingDayForm(request.GET or None, people=people, initial=usual)
    if form.is_bound and not form.is_valid():
        return form, None
    facts = form.cleaned_data if form.is_bound else usual
    asked = [fitting for fitting in comes if fitting.wearer not in facts.get("leave_out", ())]
    return form, fitting_day(
        run,
        asked,
        kept=plan,
        day=facts["day"],
        start=facts["start"],
        minutes=facts["minutes"],
        pause_at=facts["pause_at"],
        pause_minutes=facts["pause_minutes"] or 0,
    )


def first_day(call: Call) -> date:
    """The call's first day of fittings, else the day before loading, and never a day that has passed."""
    return max(call.fittings_from or call.load_on, clock.today())
