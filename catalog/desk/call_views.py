"""The call's own page: what is asked, how far it has come, and the one next step; holding and pulling its plan."""

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core import clock
from catalog.core.http import render_page
from catalog.desk.call_steps import Stand, answer_of, can_close, next_of, steps_of
from catalog.fitting.calc.plan_types import PlanError
from catalog.fitting.models import Plan
from catalog.fitting.queries import dry_run, needed_pieces
from catalog.loans import actions, queries
from catalog.loans.hold_views import take_hold
from catalog.loans.loan_queries import left_to_pull
from catalog.loans.models import Call, Hold, Wearer
from catalog.loans.pages import call_or_404, call_steps, hold_or_404, told
from catalog.loans.progress_queries import progress_of_call


def call(request: HttpRequest, reference: str) -> HttpResponse:
    """The hub: everything about a call is reachable from here."""
    found = call_or_404(reference)
    needs = list(found.needs.select_related("role"))
    listed = queries.wearer_rows(found)
    plan = Plan.objects.filter(call=found, current=True).order_by("-made_at").first()
    today = clock.today()
    holds = list(found.holds.exclude(state=Hold.State.RELEASED).order_by("pk"))
    loans = list(found.loans.order_by("pk"))
    asked = sum(need.count for need in needs)
    stand = Stand(
        request.user,
        today,
        found,
        asked,
        len(listed),
        plan,
        queries.standing_of(found, today),
        loans,
        progress_of_call(found, today),
    )
    if stand.progress.left:
        stand = replace(stand, to_pull_from=_hold_to_pull_from(stand))
    steps = steps_of(stand)
    context = {
        "call": found,
        "needs": needs,
        "asked": asked,
        "listed": listed,
        "plan": plan,
        "holds": [{"hold": one, "living": queries.is_living(one, today)} for one in holds],
        "loans": loans,
        "call_steps": steps,
        "answer": answer_of(stand),
        "next_step": next_of(stand, steps),
        "steps": call_steps(None, found.reference),
        "history": told(found.subject),
        "may_call": can(request.user, Ability.CALL) and found.state == Call.State.OPEN,
        "may_hold": can(request.user, Ability.HOLD),
        "may_see_bodies": can(request.user, Ability.SEE_BODIES),
        "may_run": can(request.user, Ability.DRY_RUN),
        "may_see_values": can(request.user, Ability.SEE_VALUES),
        "can_close": can(request.user, Ability.CALL) and can_close(stand),
    }
    return render_page(request, "catalog/desk/call.html", context)


def _hold_to_pull_from(stand: Stand) -> Hold | None:
    firm = (one for one in stand.holds if one.strength == Hold.Strength.FIRM)
    return next((one for one in firm if left_to_pull(one)), None)


@require_http_methods(["GET", "POST"])
def hold_call(request: HttpRequest, reference: str) -> HttpResponse:
    """Hold the pieces of the call's stored plan, else of its dry run, for the call's days."""
    found = call_or_404(reference)
    initial: dict[str, Any] = {
        "reference": queries.next_hold_reference(),
        "for_whom": found.asked_by or found.title,
        "use_from": min(day for day in (found.fittings_from, found.load_on) if day),
        "use_to": found.back_on,
    }
    if request.method == "GET":
        initial["pieces"] = "\n".join(_numbers_to_hold(found))
    return take_hold(request, found, initial)


@require_POST
def start_loan(request: HttpRequest, reference: str) -> HttpResponse:
    """Make the pull list of a hold; each piece is meant for the performer whom the plan names."""
    hold = hold_or_404(reference)
    loan = actions.start_loan(by=signed_in(request), hold=hold, wearers=_meant_for(hold))
    messages.success(request, f"{loan.reference}: scan each piece as you take it from its shelf.")
    return redirect("loans:pull", loan.reference)


def _numbers_to_hold(call: Call) -> list[str]:
    plan = Plan.objects.filter(call=call, current=True).order_by("-made_at").first()
    if plan is not None:
        lines = plan.lines.filter(piece__isnull=False)
        return list(lines.order_by("piece__number").values_list("piece__number", flat=True))
    if not call.needs.exists() or not call.wearers.exists():
        return []
    try:
        return needed_pieces(dry_run(call))
    except PlanError:
        return []


def _meant_for(hold: Hold) -> dict[int, Wearer]:
    if hold.call is None:
        return {}
    plan = Plan.objects.filter(call=hold.call, current=True).order_by("-made_at").first()
    if plan is None:
        return {}
    lines = plan.lines.filter(piece__isnull=False).select_related("wearer")
    return {line.piece_id: line.wearer for line in lines if line.piece_id is not None}
