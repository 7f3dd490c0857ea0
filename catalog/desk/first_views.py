"""What must be done first: every job, make and notice of a call by its last safe day."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core import clock, house
from catalog.core.errors import Refused
from catalog.core.http import render_page
from catalog.fitting.calc.plan_types import PlanError
from catalog.fitting.deadline_queries import FirstThings, kept_things, run_things
from catalog.fitting.queries import dry_run
from catalog.fitting.whatif_queries import refuse_unknown
from catalog.loans.models import Call
from catalog.loans.pages import call_or_404, call_steps


@never_cache
@require_GET
def first_things(request: HttpRequest, reference: str) -> HttpResponse:
    """Of what is held or planned; before that, of the dry run with what is short made, as recorded or supposed."""
    user, call = signed_in(request), call_or_404(reference)
    context: dict[str, Any] = {
        "call": call,
        "steps": call_steps(call, "First"),
        "today": clock.today(),
        "closed": house.closed_days(),
        "may_decide": can(user, Ability.DECIDE_WEAR),
        "may_run": can(user, Ability.DRY_RUN),
    }
    status = 200
    try:
        context["found"] = kept_things(call) or _of_dry_run(call, request)
    except Refused as unknown:
        context["stuck"], status = unknown.sentence, 422
    except PlanError:
        context["stuck"], status = "The planner could not answer: see the dry run.", 409
    return render_page(request, "catalog/desk/first_things.html", context, status=status)


def _of_dry_run(call: Call, request: HttpRequest) -> FirstThings:
    found, released = request.GET.getlist("found"), request.GET.getlist("released")
    refuse_unknown(found=found, released=released)
    return run_things(dry_run(call, found=found, released=released, with_making=True))
