"""The heat at the place of a call: who may work in which dress at which hour, what helps, and what nobody knows yet."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_GET

from catalog.core.http import render_page
from catalog.desk.heat_objects import LOOSE, call_objects
from catalog.fitting.calc.plan_types import PlanError
from catalog.loans.models import Call
from catalog.loans.pages import call_or_404, call_steps
from catalog.shipping.calc import heat_body
from catalog.shipping.calc.heat_hours import CAUTION
from catalog.shipping.calc.heat_index import SUN_ADDS_F
from catalog.shipping.calc.heat_limits import REST_ASSUMES
from catalog.shipping.calc.heat_objects import OBJECT_CAUTION, SITUATIONS
from catalog.shipping.calc.wbgt import LOWER_METHOD, UPPER_METHOD
from catalog.shipping.heat_picture import pictures
from catalog.shipping.heat_queries import BANDS, answer, call_heat, questions, spans_words


@require_GET
def call_heat_page(request: HttpRequest, reference: str) -> HttpResponse:
    """One page that a coordinator can print and forward."""
    call = call_or_404(reference)
    found = call_heat(call)
    days = [
        {
            "day": day,
            "pictures": list(pictures(found, day)) if found.roles else [],
            "rows": [
                {
                    "column": column,
                    "closed": spans_words(day.closed(place)),
                    "open": spans_words(day.open(place)),
                }
                for place, column in enumerate(found.columns)
            ],
        }
        for day in found.days
    ]
    rests = [cell.rest for day in found.days for hour in day.hours for cell in hour.cells if cell.rest]
    context = {
        "call": call,
        "found": found,
        "answer": answer(found),
        "days": days,
        "shares": [(role, role.shares(found.use_days)) for role in found.roles if role.row],
        "questions": questions(found),
        "steps": call_steps(call, "Heat"),
        "may_write": call.state == Call.State.OPEN,
        "caution": CAUTION,
        "lower": LOWER_METHOD,
        "upper": UPPER_METHOD,
        "bands": BANDS.words,
        "sun_adds": SUN_ADDS_F,
        "water": heat_body.WATER,
        "rest_assumes": REST_ASSUMES,
        "rest_whys": sorted({rest.why for rest in rests if rest.schedule is None}),
        "rest_applies": any(rest.schedule is not None for rest in rests),
    }
    return render_page(request, "catalog/desk/call_heat.html", context)


@require_GET
def heat_objects(request: HttpRequest, reference: str) -> HttpResponse:
    """What the heat of a vehicle, a container or a roof does to the pieces, and which trunk to open first."""
    call = call_or_404(reference)
    steps = call_steps(call, "Things in the heat")
    steps.insert(-1, {"word": "Heat", "url": reverse("desk:call_heat", args=[call.reference])})
    context: dict[str, Any] = {
        "call": call,
        "steps": steps,
        "situations": SITUATIONS,
        "caution": OBJECT_CAUTION,
        "loose": LOOSE,
    }
    try:
        found = call_objects(call)
    except PlanError as error:
        context["stuck"] = str(error)
    else:
        context["found"] = found
        context["rows"] = [
            {"group": group, "harmed": [(one, group.harmed(one.temp_c)) for one in SITUATIONS]}
            for group in found.groups
        ]
    return render_page(request, "catalog/desk/heat_objects.html", context)
