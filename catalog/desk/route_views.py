"""Which way does the shipment of a call go?"""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from catalog.access.people import signed_in
from catalog.loans.pages import call_or_404, call_steps, form_page
from catalog.pieces.pages import done
from catalog.shipping.models import Route
from catalog.shipping.route_actions import set_route
from catalog.shipping.route_forms import RouteForm


@require_http_methods(["GET", "POST"])
def route(request: HttpRequest, reference: str) -> HttpResponse:
    """The countries of the journey, whether all comes back, and the wood of the crates."""
    user, call = signed_in(request), call_or_404(reference)
    form = RouteForm(request.POST or None, initial=_as_typed(Route.objects.filter(call=call).first()))
    if request.method == "POST" and done(form, lambda: set_route(by=user, call=call, **form.cleaned_data)):
        messages.success(request, f"The route of {call.reference} is kept. The answers below are for it.")
        return redirect("desk:call_travel", call.reference)
    return form_page(
        request,
        form,
        steps=call_steps(call, "Route"),
        answer=f"Which way does {call.reference} go?",
        verb="Keep this route",
        call=call,
        note="Countries decide which permits, lists and marks are asked for. What nobody says stays unknown.",
    )


def _as_typed(row: Route | None) -> dict[str, Any]:
    if row is None:
        return {}
    back = {True: "yes", False: "no", None: ""}[row.comes_back]
    return {"start": row.start, "goal": row.goal, "through": row.through, "comes_back": back, "wood": row.wood}
