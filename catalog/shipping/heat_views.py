"""Telling the weather at the place of a call, and what its roles wear there."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from catalog.access.people import signed_in
from catalog.core.errors import CatalogError
from catalog.core.form_fields import weight_unit
from catalog.core.http import render_page
from catalog.loans.models import Call
from catalog.loans.pages import Steps, call_or_404, call_steps, form_page, status_of
from catalog.pieces.pages import done
from catalog.shipping import heat_actions as actions
from catalog.shipping.heat_forms import DressForm, HourForm
from catalog.shipping.heat_models import WeatherHour

_GET_POST = ["GET", "POST"]


@require_http_methods(_GET_POST)
def weather(request: HttpRequest, reference: str) -> HttpResponse:
    """Every hour that is written, and a form for one more."""
    user, call = signed_in(request), call_or_404(reference)
    form = HourForm(request.POST or None, call=call)
    source = WeatherHour.Source.ENTERED
    if request.method == "POST" and done(
        form, lambda: actions.set_hours(by=user, call=call, hours=form.hours(), source=source)
    ):
        messages.success(request, "The hour is kept.")
        return redirect("desk:heat_weather", call.reference)
    context = {
        "form": form,
        "call": call,
        "steps": _steps(call, "Weather"),
        "hours": list(WeatherHour.objects.filter(call=call)),
        "may_write": call.state == Call.State.OPEN,
    }
    return render_page(request, "catalog/shipping/weather.html", context, status=status_of(form))


@require_POST
def hour_out(request: HttpRequest, reference: str, pk: int) -> HttpResponse:
    """Take one hour out again."""
    call = call_or_404(reference)
    hour = WeatherHour.objects.filter(call=call, pk=pk).select_related("call").first()
    if hour is None:
        raise Http404("There is no such hour.")
    try:
        actions.take_out_hour(by=signed_in(request), hour=hour)
        messages.success(request, f"{hour.day:%-d %b}, {hour.hour:02d}:00 is not known any more.")
    except CatalogError as wrong:
        messages.error(request, wrong.sentence)
    return redirect("desk:heat_weather", call.reference)


@require_http_methods(_GET_POST)
def dress(request: HttpRequest, reference: str) -> HttpResponse:
    """What each role wears, how heavy and how hard it works."""
    user, call = signed_in(request), call_or_404(reference)
    form = DressForm(request.POST or None, call=call, weight=weight_unit(user))

    def keep_all() -> None:
        chosen = form.cleaned_data["dress_list"]
        actions.set_dresses(by=user, call=call, dress_list=chosen, worn=form.worn())

    if request.method == "POST" and done(form, keep_all):
        return redirect("desk:call_heat", call.reference)
    return form_page(
        request,
        form,
        steps=_steps(call, "What is worn"),
        answer=f"What is worn in the heat of {call.reference}?",
        verb="Keep this",
        template="catalog/shipping/heat_dress.html",
        call=call,
    )


def _steps(call: Call, word: str) -> Steps:
    steps = call_steps(call, word)
    steps.insert(-1, {"word": "Heat", "url": reverse("desk:call_heat", args=[call.reference])})
    return steps
