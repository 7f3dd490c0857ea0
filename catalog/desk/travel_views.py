"""May we send it? One page that a coordinator can forward, and the same as a table."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from catalog.access.people import signed_in
from catalog.core.http import render_page
from catalog.desk.travel import TravelList, travel_list
from catalog.fitting.calc.plan_types import PlanError
from catalog.loans.models import Call
from catalog.loans.queries import call_by_reference
from catalog.shipping.actions import keep_verdicts
from catalog.shipping.calc.facts import Mode
from catalog.shipping.calc.travel import CAUTION
from catalog.shipping.queries import as_json, journey_of, way_of


def call_travel(request: HttpRequest, reference: str) -> HttpResponse:
    """Each piece and each way of travelling, the worst first, with reasons and sources."""
    call = _call(reference)
    stuck, found = "", TravelList([], "")
    try:
        found = travel_list(call)
    except PlanError as error:
        stuck = str(error)
    journey = journey_of(call)
    context = {
        "call": call,
        "route": way_of(call),
        "journey": journey,
        "journey_open": not journey.is_yes,
        "kept": call.verdicts.exists(),
        "found": found,
        "stuck": stuck,
        "modes": list(Mode),
        "caution": CAUTION,
        "fly": found.count("may fly"),
        "road": found.count("road only"),
        "stay": found.count("stays"),
    }
    return render_page(request, "catalog/desk/call_travel.html", context)


def call_travel_json(request: HttpRequest, reference: str) -> HttpResponse:
    """The same answers as the `travel` command prints them."""
    return JsonResponse(as_json(travel_list(_call(reference)).answers), safe=False)


@require_POST
def keep_call_travel(request: HttpRequest, reference: str) -> HttpResponse:
    """Keep today's answers with their facts and rule versions."""
    call = _call(reference)
    number = keep_verdicts(by=signed_in(request), call=call, answers=travel_list(call).answers)
    messages.success(request, f"{number} answers are kept with their facts and rules.")
    return redirect("desk:call_travel", call.reference)


def _call(reference: str) -> Call:
    call = call_by_reference(reference)
    if call is None:
        raise Http404(f"There is no call {reference}.")
    return call
