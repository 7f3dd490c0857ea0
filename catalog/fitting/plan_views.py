"""The dry run of a call, and the plan that is kept of it. Nobody reads a size here."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.urls import NoReverseMatch, reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core import clock, house
from catalog.core.errors import Refused
from catalog.core.http import render_page
from catalog.core.tables import csv_response
from catalog.fitting import actions
from catalog.fitting.calc.plan_types import PlanError
from catalog.fitting.deadline_queries import deadlines
from catalog.fitting.kept_queries import Kept, kept_today, not_needed, told_left_out
from catalog.fitting.models import Plan
from catalog.fitting.picture_queries import plan_grids
from catalog.fitting.plan_queries import (
    HEADER,
    PUBLIC_HEADER,
    Dressed,
    dressed_of,
    kept_plan,
    make_orders,
    plan_as_json,
    public_json,
    public_rows,
    table_rows,
)
from catalog.fitting.queries import DryRun, dry_run
from catalog.fitting.scenario_queries import suppositions
from catalog.fitting.set_queries import limit_words
from catalog.fitting.stock_queries import StockPiece
from catalog.fitting.whatif_queries import if_words, refuse_unknown, scenarios, supposed
from catalog.loans.models import Call
from catalog.loans.pages import call_or_404, call_steps

# A lock that cannot hold names a performer and what does not fit: that is for the wardrobe lead.
STUCK = "A choice that is locked in the kept plan cannot hold any more. The wardrobe lead opens it on the plan."


@never_cache
@require_GET
def dry_run_page(request: HttpRequest, reference: str) -> HttpResponse:
    """How many can be dressed as recorded, or as is supposed; nothing is held or stored."""
    user, call = signed_in(request), call_or_404(reference)
    context: dict[str, Any] = {"call": call, "steps": call_steps(call, "Dry run"), "now": clock.now()}
    try:
        run = _run(call, request)
    except (PlanError, Refused) as stuck:
        unknown = isinstance(stuck, Refused)
        context |= {"why": str(stuck) if unknown or can(user, Ability.SEE_BODIES) else STUCK, "unknown": unknown}
        status = 422 if context["unknown"] else 409
        return render_page(request, "catalog/fitting/dry_run_stuck.html", context, status=status)
    sees_bodies = can(user, Ability.SEE_BODIES)
    items = supposed(run, cards=_by_cards(request))
    context |= {
        "run": run,
        "roles": _roles(run),
        "left_out": told_left_out(run.plan.left_out, run.wearers, sees_bodies=sees_bodies),
        "standby": not_needed(run.plan.left_out),
        "made": len(run.plan.make),
        "suppositions": suppositions(run),
        "supposed": items,
        "if_words": if_words(items),
        "not_so_yet": bool(run.question.found or run.question.released),
        "locked": len({lock.wearer for lock in run.problem.locks}),
        "deadlines": deadlines(run),
        "closed": run.question.closed,
        "deciding": run.range.deciding[:6] if run.range else (),
        "sees_bodies": sees_bodies,
        "may_keep": can(user, Ability.FIT) and bool(run.plan.assignments),
        "hold_url": _hold_url(call) if can(user, Ability.HOLD) and run.plan.assignments else "",
        "kept": kept_plan(call),
        "people": len(run.wearers),
    }
    return render_page(request, "catalog/fitting/dry_run.html", context)


@never_cache
@require_GET
def side_by_side(request: HttpRequest, reference: str) -> HttpResponse:
    """The call as recorded, with what is lost found, with what others hold released, and with both."""
    call = call_or_404(reference)
    context: dict[str, Any] = {"call": call, "steps": call_steps(call, "Side by side"), "now": clock.now()}
    try:
        rows = scenarios(call)
    except PlanError as stuck:
        return render_page(request, "catalog/fitting/dry_run_stuck.html", context | {"why": str(stuck)}, status=409)
    context |= {"rows": rows, "first": rows[0], "best": max(rows, key=lambda row: row.run.plan.total)}
    return render_page(request, "catalog/fitting/side_by_side.html", context)


def _run(call: Call, request: HttpRequest) -> DryRun:
    """The dry run asked for. Raises Refused when it supposes what does not exist."""
    asked = request.POST if request.method == "POST" else request.GET
    refuse_unknown(found=asked.getlist("found"), released=asked.getlist("released"))
    return dry_run(
        call,
        sizes="card" if _by_cards(request) else "best",
        found=asked.getlist("found"),
        released=asked.getlist("released"),
        with_making=asked.get("making") == "yes",
    )


def _by_cards(request: HttpRequest) -> bool:
    """Whether it is asked by cards alone: what they say of bodies is for whoever reads size sheets."""
    asked = request.POST if request.method == "POST" else request.GET
    return asked.get("sizes") == "card" and can(signed_in(request), Ability.SEE_BODIES)


def _roles(run: DryRun) -> list[dict[str, Any]]:
    """The count strip, and the three counts of each role behind it."""
    rows = []
    for code, asked in run.asked.items():
        dressed, counts = run.plan.dressed.get(code, 0), run.counts[code]
        limit = run.plan.limits[code]
        slots = [slot for (role, _), slot in run.slots.items() if role == code]
        high = run.range.high.dressed.get(code, 0) if run.range else dressed
        rows.append(
            {
                "role": run.roles[code],
                "asked": asked,
                "dressed": dressed,
                "high": max(high, dressed),
                "whole_sets": run.plan.whole_sets.get(code, 0),
                "mixed": dressed - run.plan.whole_sets.get(code, 0),
                "counts": counts,
                "limit": limit_words(limit, slots) if dressed < asked else "",
                "made": sum(make.role == code for make in run.plan.make),
            }
        )
    return rows


def _hold_url(call: Call) -> str:
    """Where the planned pieces are held; the page is a room further up."""
    try:
        return reverse("desk:hold_call", args=[call.reference])
    except NoReverseMatch:
        return ""


@require_POST
def keep_plan(request: HttpRequest, reference: str) -> HttpResponse:
    """Keep the plan of this dry run as the call's own."""
    user, call = signed_in(request), call_or_404(reference)
    try:
        plan = actions.store_plan(by=user, run=_run(call, request))
    except (PlanError, Refused) as stuck:
        messages.error(request, str(stuck))
        return redirect("fitting:dry_run", call.reference)
    messages.success(request, f"The plan is kept: {plan.dressed} of {plan.asked} dressed. Nothing is held by it yet.")
    return redirect("fitting:plan", call.reference)


@never_cache
@require_GET
def plan(request: HttpRequest, reference: str) -> HttpResponse:
    """The kept plan: who wears what, who is left out, what is mended first, what is to be made and by when."""
    user, call = signed_in(request), call_or_404(reference)
    may_run, sees_bodies = can(user, Ability.DRY_RUN), can(user, Ability.SEE_BODIES)
    sees_outfits = can(user, Ability.SEE_OUTFITS)
    if may_run and any(request.GET.getlist(name) for name in ("found", "released", "making")):
        # A kept plan supposes nothing: the dry run does.
        return redirect(f"{reverse('fitting:dry_run', args=[call.reference])}?{request.GET.urlencode()}")
    kept = kept_plan(call)
    today = kept_today(kept) if kept else None
    dressed = dressed_of(kept) if kept else []
    context = {
        "call": call,
        "plan": kept,
        "dressed": [(person, _first(person, today)) for person in dressed],
        "grids": plan_grids(dressed, [row.piece.number for row in today.work] if today else []) if sees_outfits else [],
        "sees_outfits": sees_outfits,
        "locked": sum(person.locked for person in dressed),
        "orders": make_orders(kept) if kept else [],
        "closed": house.closed_days() if kept else frozenset(),
        "left_out": told_left_out(today.left_out, today.ground.wearers, sees_bodies=sees_bodies) if today else [],
        "standby": not_needed(today.left_out) if today else 0,
        "work": today.work if today else (),
        "lost": today.lost if today else (),
        "rivals": _rivals(today) if today and sees_bodies else [],
        "today": clock.today(),
        "sees_bodies": sees_bodies,
        "may_lock": can(user, Ability.FIT),
        "may_run": may_run,
        "steps": call_steps(call, "Plan"),
    }
    return render_page(request, "catalog/fitting/plan.html", context)


def _first(person: Dressed, today: Kept | None) -> list[StockPiece]:
    """What of an outfit is mended first."""
    own = {line.piece_id for line in person.lines}
    return [row for row in today.work if row.piece.pk in own] if today else []


def _rivals(today: Kept) -> list[dict[str, Any]]:
    """Who competes for one piece, and who of them has it in the plan."""
    worn = {line.piece: line.wearer for line in today.assignments}
    people = today.ground.wearers
    return [
        {
            "piece": row.piece,
            "slot": today.ground.slots[row.role, row.slot],
            "wearers": [people[number] for number in row.wearers],
            "has_it": people.get(worn.get(row.piece, "")),
        }
        for row in today.rivals
    ]


@require_POST
def lock(request: HttpRequest, reference: str, number: str) -> HttpResponse:
    """Lock a performer's outfit, or open it again."""
    kept = _plan_or_404(reference)
    locked = request.POST.get("locked") == "yes"
    try:
        actions.lock_performer(by=signed_in(request), plan=kept, number=number, locked=locked)
        messages.success(request, f"The outfit of performer {number} is {'locked' if locked else 'open again'}.")
    except Refused as refused:
        messages.error(request, str(refused))
    return redirect("fitting:plan", kept.call.reference)


@never_cache
@require_GET
def plan_csv(request: HttpRequest, reference: str) -> HttpResponse:
    """The kept plan as a table."""
    kept = _plan_or_404(reference)
    name = f"plan-{kept.call.reference}.csv"
    if not can(request.user, Ability.SEE_OUTFITS):
        return csv_response(name, PUBLIC_HEADER, public_rows(kept))  # type: ignore[return-value]
    rows = table_rows(kept, kept_today(kept).work)
    return csv_response(name, HEADER, rows)  # type: ignore[return-value]


@never_cache
@require_GET
def plan_json(request: HttpRequest, reference: str) -> HttpResponse:
    """The kept plan under its documented keys."""
    kept = _plan_or_404(reference)
    today = kept_today(kept)
    left = told_left_out(today.left_out, today.ground.wearers, sees_bodies=False)
    whole = plan_as_json(kept) if can(request.user, Ability.SEE_OUTFITS) else public_json(kept)
    more = {
        "left_out": [{"performer": row.wearer.number, "reason": row.word} for row in left],
        "mend_first": [
            {
                "piece": row.piece.number,
                "work": row.work,
                "start_by": row.start_by.isoformat() if row.start_by else None,
            }
            for row in today.work
        ],
    }
    return JsonResponse(
        whole | more,
        json_dumps_params={"indent": 2},
    )


def _plan_or_404(reference: str) -> Plan:
    kept = kept_plan(call_or_404(reference))
    if kept is None:
        raise Http404(f"No plan is kept for {reference[:30]}.")
    return kept
