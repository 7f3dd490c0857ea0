"""Whom can we dress? Before casting it tells production whom to cast; nobody's size is needed and none is shown."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core.http import render_page
from catalog.fitting import actions
from catalog.fitting.calc.body import Shape
from catalog.fitting.calc.chance import POSSIBLE_FROM
from catalog.fitting.calc.plan_types import PlanError
from catalog.fitting.set_queries import roles_for
from catalog.fitting.stock_queries import question_of, question_of_days
from catalog.fitting.who_forms import WhoForm
from catalog.fitting.who_queries import HEIGHTS_MM, WEIGHTS_G, DressMap, dress_map
from catalog.loans.models import Call
from catalog.loans.pages import call_or_404, call_steps
from catalog.pieces.models import Role


@never_cache
@require_GET
def who(request: HttpRequest) -> HttpResponse:
    """The map of a role as the store stands, or on the days asked for."""
    roles = roles_for(signed_in(request), with_slots=True)
    form = WhoForm(request.GET or None, roles=roles, with_days=True)
    return _page(request, form, roles, None)


@never_cache
@require_GET
def who_call(request: HttpRequest, reference: str) -> HttpResponse:
    """The same for a call's days; its performers lie on the map for whoever reads size sheets."""
    call = call_or_404(reference)
    wanted = {need.role_id: need.count for need in call.needs.all()}
    roles = [role for role in roles_for(signed_in(request), with_slots=True) if role.pk in wanted]
    roles.sort(key=lambda role: -wanted[role.pk])
    form = WhoForm(
        request.GET or None, roles=roles, with_days=False, with_sizes=can(signed_in(request), Ability.SEE_BODIES)
    )
    return _page(request, form, roles, call)


def _page(request: HttpRequest, form: WhoForm, roles: list[Role], call: Call | None) -> HttpResponse:
    context: dict[str, Any] = {"form": form, "roles": roles, "call": call, "found": None, "why": ""}
    if call is not None:
        context["steps"] = call_steps(call, "Whom can we dress?")
    valid = not form.is_bound or form.is_valid()
    if roles and valid and (call is not None or request.GET.get("role")):
        try:
            context |= _answer(request, form.cleaned_data if form.is_bound else {}, roles, call)
        except PlanError as stuck:
            context["why"] = str(stuck)
    return render_page(request, "catalog/fitting/who.html", context, status=200 if valid else 422)


def _answer(request: HttpRequest, facts: dict[str, Any], roles: list[Role], call: Call | None) -> dict[str, Any]:
    user = signed_in(request)
    role = next((role for role in roles if role.code == facts.get("role")), roles[0])
    first, last = facts.get("first"), facts.get("last")
    question = question_of(call) if call is not None else question_of_days(first, last)
    drawn = call if call is not None and can(user, Ability.SEE_BODIES) else None
    found = dress_map(
        role, question, shape=Shape(facts.get("shape") or "either"), call=drawn, sizes=facts.get("sizes") or "best"
    )
    if drawn is not None and found.performers:
        actions.note_reading(by=user, call=drawn, number=len(found.performers))
    return {
        "found": found,
        "first": first,
        "last": last,
        "span": _span(found),
        "table": _table(found),
        "heights": HEIGHTS_MM,
    }


def _table(found: DressMap) -> list[dict[str, Any]]:
    """A row a weight, the heaviest first as on the map."""
    rows = []
    for number, weight in enumerate(WEIGHTS_G):
        points = found.points[number * len(HEIGHTS_MM) : (number + 1) * len(HEIGHTS_MM)]
        rows.append({"weight": weight, "points": points})
    return rows[::-1]


def _span(found: DressMap) -> dict[str, int] | None:
    """Between which heights and weights an outfit may fit, and between which the choice is widest."""
    able = [point for point in found.points if point.chance is not None and point.chance >= POSSIBLE_FROM]
    if not able:
        return None
    widest = max((point.outfits or 0, round(point.chance or 0.0, 1)) for point in able)
    best = [point for point in able if (point.outfits or 0, round(point.chance or 0.0, 1)) == widest]
    return {
        "low_height": min(point.height_mm for point in able),
        "high_height": max(point.height_mm for point in able),
        "low_weight": min(point.weight_g for point in able),
        "high_weight": max(point.weight_g for point in able),
        "best_low_height": min(point.height_mm for point in best),
        "best_high_height": max(point.height_mm for point in best),
        "best_low_weight": min(point.weight_g for point in best),
        "best_high_weight": max(point.weight_g for point in best),
    }
