"""What the planned dresses weigh, for the wardrobe lead alone: beside an own weight it is body data."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from catalog.access.people import signed_in
from catalog.core.http import render_page
from catalog.fitting import actions
from catalog.fitting.load_queries import loads_of
from catalog.fitting.plan_queries import kept_plan
from catalog.loans.pages import call_or_404, call_steps


@never_cache
@require_GET
def worn_loads(request: HttpRequest, reference: str) -> HttpResponse:
    """Each dress of the kept plan and its share of the wearer's own weight; reading it is told to the history."""
    user, call = signed_in(request), call_or_404(reference)
    plan = kept_plan(call)
    rows = loads_of(plan) if plan is not None else []
    known = [row for row in rows if row.load.share is not None]
    if known:
        actions.note_reading(by=user, call=call, number=len(known))
    context = {
        "call": call,
        "plan": plan,
        "rows": rows,
        "heaviest": max(rows, key=lambda row: row.load.known_g, default=None),
        "unknown": sum(row.load.share is None for row in rows),
        "least": sum(row.least for row in rows),
        "steps": call_steps(call, "Worn load"),
    }
    return render_page(request, "catalog/fitting/worn_loads.html", context)
