"""What is short for a call, why, and what the workroom makes: sizes stand on it, so it is the wardrobe lead's alone."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from catalog.access.people import signed_in
from catalog.core import clock
from catalog.core.errors import Refused
from catalog.core.http import render_page
from catalog.fitting import actions
from catalog.fitting.calc.plan_types import PlanError
from catalog.fitting.short_queries import short_of
from catalog.fitting.whatif_queries import if_words, refuse_unknown, supposed
from catalog.loans.pages import call_or_404, call_steps


@never_cache
@require_GET
def what_is_short(request: HttpRequest, reference: str) -> HttpResponse:
    """Slots that are short with the bodies behind them, and a sheet for each piece to be made; a reading of sizes."""
    user, call = signed_in(request), call_or_404(reference)
    context: dict[str, Any] = {"call": call, "steps": call_steps(call, "What is short"), "now": clock.now()}
    asked = {name: request.GET.getlist(name) for name in ("found", "released")}
    try:
        refuse_unknown(**asked)
        found = short_of(call, **asked)
    except (PlanError, Refused) as stuck:
        context |= {"why": str(stuck), "unknown": isinstance(stuck, Refused)}
        status = 422 if context["unknown"] else 409
        return render_page(request, "catalog/fitting/dry_run_stuck.html", context, status=status)
    people = {row.wearer.number for row in found.make if row.need.measures}
    if people or any(row.band for row in found.slots):
        actions.note_reading(by=user, call=call, number=max(1, len(people)))
    context |= {
        "found": found,
        "unmade": found.making.asked_total - found.making.plan.total,
        "if_words": if_words(supposed(found.run)),
        "query": request.GET.urlencode(),
    }
    return render_page(request, "catalog/fitting/short.html", context)
