"""Other plans for a call: the next best, and what a wish costs. Who wears what, never a size."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from catalog.core import clock
from catalog.core.http import render_page
from catalog.fitting.calc.plan_types import PlanError
from catalog.fitting.other_queries import OtherPlan, other_plans, plan_with, plan_without
from catalog.fitting.queries import DryRun, dry_run
from catalog.loans.pages import call_or_404, call_steps


@never_cache
@require_GET
def other(request: HttpRequest, reference: str) -> HttpResponse:
    """The next best plans; with ?performer and ?piece what it costs that they wear it, or that they do not."""
    call = call_or_404(reference)
    making = request.GET.get("making") == "yes"
    context: dict[str, Any] = {"call": call, "steps": call_steps(call, "Other plans"), "now": clock.now()}
    try:
        run = dry_run(call, with_making=making)
    except PlanError as stuck:
        return render_page(request, "catalog/fitting/dry_run_stuck.html", context | {"why": str(stuck)}, status=409)
    performer, piece = (request.GET.get(name, "").strip() for name in ("performer", "piece"))
    context |= {
        "run": run,
        "making": making,
        "performer": performer,
        "piece": piece,
        "people": list(run.wearers.values()),
        "pieces": [row.piece for row in run.stock if row.usable],
    }
    fault, rows = "", []
    try:
        rows = [_wish(run, performer, piece)] if performer or piece else other_plans(run)
    except PlanError as wrong:
        fault = str(wrong)
    context |= {"rows": rows, "fault": fault}
    return render_page(request, "catalog/fitting/other_plans.html", context, status=422 if fault else 200)


def _wish(run: DryRun, performer: str, piece: str) -> OtherPlan:
    if not performer or not piece:
        raise PlanError("Name a performer and a piece, both.")
    worn = any(
        line.wearer.lower() == performer.lower() and (line.piece or "").lower() == piece.lower()
        for line in run.plan.assignments
    )
    return plan_without(run, performer, piece) if worn else plan_with(run, performer, piece)
