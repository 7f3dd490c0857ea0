"""Counting with a phone: start, where to go, one scan after another, what cannot be scanned."""

import json
from decimal import Decimal
from typing import Any
from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from catalog.access.permissions import Ability, can
from catalog.core import house
from catalog.core.checks import blame
from catalog.core.errors import CatalogError
from catalog.core.http import render_page
from catalog.pieces.calc.values import money
from catalog.storage import readings, tally_views, tree
from catalog.storage import stocktake_actions as actions
from catalog.storage import stocktake_queries as queries
from catalog.storage.calc import sampling
from catalog.storage.models import Place, Sighting, Stocktake
from catalog.storage.place_queries import cold_at
from catalog.storage.queries import place_by_code
from catalog.storage.stocktake_actions import Spot
from catalog.storage.stocktake_forms import ScanForm, StartForm, UnlabelledForm
from catalog.storage.stocktake_models import StocktakeDraw
from catalog.storage.stocktake_pages import steps_of, stocktake_or_404
from catalog.storage.views import user_of

MOST_SHOWN = 60
_NO_SHELF = "Scan the shelf first, or choose it from the list."


def stocktakes(request: HttpRequest) -> HttpResponse:
    """Those that are open, then the last that were closed."""
    context = {
        "open": list(queries.open_stocktakes()),
        "closed": list(queries.with_counts(Stocktake.objects.filter(closed_at__isnull=False))[:30]),
        "may_take": can(user_of(request), Ability.TAKE_STOCK),
        "may_count": can(user_of(request), Ability.MOVE),
    }
    return render_page(request, "catalog/stocktake/stocktakes.html", context)


def start(request: HttpRequest) -> HttpResponse:
    """Where and how much; a look at what a sample buys draws nothing yet."""
    user = user_of(request)
    initial = {"place": request.GET.get("place", ""), "sample_size": house.value("stocktake.sample")}
    form = StartForm(request.POST or None, by=user, initial=initial)
    offer: dict[str, Any] = {}
    if request.method == "POST" and form.is_valid():
        facts = form.cleaned_data
        if "look" in request.POST:
            offer = _offer(**facts)
        else:
            try:
                made = actions.start_stocktake(by=user, **facts)
            except CatalogError as error:
                blame(form, error)
            else:
                return redirect("stocktake:stocktake", made.reference)
    context = {"form": form, "offer": offer, "steps": steps_of(None, "Start")}
    return render_page(request, "catalog/stocktake/start.html", context)


def _offer(*, place: Place, draw: str, sample_size: int | None) -> dict[str, Any]:
    """What would be counted there, and what the sample would say if nothing of it were missing."""
    line, currency = int(house.value("stocktake.high_value")), str(house.value("house.currency"))
    frame = queries.frame(place, line, currency)
    drawn = min(sample_size or 0, len(frame.others))
    return {
        "place": place,
        "is_sample": draw == StocktakeDraw.SAMPLE,
        "line": money(currency, Decimal(line)),
        "high": len(frame.high),
        "others": len(frame.others),
        "unvalued": frame.unvalued,
        "drawn": drawn,
        "all": len(frame.high) + len(frame.others),
        "bought": sampling.bought(0, drawn, len(frame.others)),
    }


def stocktake(request: HttpRequest, reference: str) -> HttpResponse:
    """While it is counted: where to go and how far it is. Once closed: what came of it."""
    row = stocktake_or_404(reference)
    if row.reference != reference:
        return redirect("stocktake:stocktake", row.reference)
    if not row.is_open:
        return tally_views.result(request, row)
    stops = queries.stops_of(row)
    left = [stop for stop in stops if stop.counted_at is None]
    context = {
        "stocktake": row,
        "stops": stops,
        "left": len(left),
        "next": left[0] if left else None,
        "may_count": can(user_of(request), Ability.MOVE),
        "may_take": can(user_of(request), Ability.TAKE_STOCK),
        "counters": queries.counters_of(row),
        "steps": steps_of(row),
    }
    return render_page(request, "catalog/stocktake/stops.html", context)


def count(request: HttpRequest, reference: str) -> HttpResponse:
    """One thing after another, at one place. Nothing on this page depends on what is recorded there."""
    row = stocktake_or_404(reference)
    if not row.is_open:
        return redirect("stocktake:stocktake", row.reference)
    if request.method != "POST":
        return _count_page(request, row, _spot(row, request.GET))
    form, at = ScanForm(request.POST, by=user_of(request)), _spot(row, request.POST)
    if not form.is_valid():
        return _count_page(request, row, at, problem="That code is too long to be one: scan again.")
    return _scanned(request, row, at, form.cleaned_data)


def _scanned(request: HttpRequest, row: Stocktake, at: Spot | None, facts: dict[str, Any]) -> HttpResponse:
    """A shelf is gone to, a thing is seen there; what leads nowhere is asked about."""
    reading = readings.read(facts["code"], request.user)
    if reading.place is not None and not reading.place.is_container:
        return _go_to(request, row, at, reading.place)
    if at is None:
        return _count_page(request, row, at, problem=_NO_SHELF)
    if reading.thing is None and not facts["reads"]:
        return _count_page(request, row, at, reading=reading)
    what: dict[str, Any] = {"piece": reading.piece, "container": reading.place}
    if reading.thing is None:
        what = {"reads": reading.text[:120], "is_container": facts["reads"] == "container"}
    return _see(request, row, at, facts["client_id"], what)


def _see(request: HttpRequest, row: Stocktake, at: Spot, client_id: UUID | None, what: dict[str, Any]) -> HttpResponse:
    try:
        one = actions.see(by=user_of(request), stocktake=row, at=at, client_id=client_id or uuid4(), **what)
    except CatalogError as error:
        return _count_page(request, row, at, problem=error.sentence)
    inside = one if one.kind == Sighting.Kind.CONTAINER else at.inside
    return redirect(_address(row, at.place, inside, last=one.pk))


def _go_to(request: HttpRequest, row: Stocktake, at: Spot | None, place: Place) -> HttpResponse:
    """A shelf was scanned: from now on it is counted there."""
    if row.stops.filter(place=place).exists():
        return redirect(_address(row, place))
    if any(step.pk == row.place_id for step in tree.path(place)):
        why = f"{place.code} was not drawn." if row.draw == StocktakeDraw.SAMPLE else f"Scan a shelf in {place.code}."
    else:
        why = f"{place.code} does not lie in {row.place.code}, which is counted here."
    return _count_page(request, row, at, problem=f"{why} The list names the places to go to.")


def _address(row: Stocktake, place: Place, inside: Sighting | None = None, **more: Any) -> str:
    query = {"at": place.code} | ({"box": inside.pk} if inside is not None else {}) | more
    return f"{reverse('stocktake:count', args=[row.reference])}?{urlencode(query)}"


def _spot(row: Stocktake, told: Any) -> Spot | None:
    """Where the counter stands, as the address or the form says; a box that is not there any more is left out."""
    place = place_by_code(told.get("at", ""))
    if place is None or not row.stops.filter(place=place).exists():
        return None
    number = told.get("box", "")
    boxes = queries.sightings_of(row).filter(place=place, kind=Sighting.Kind.CONTAINER)
    return Spot(place, boxes.filter(pk=number).first() if str(number).isdecimal() else None)


def _count_page(
    request: HttpRequest,
    row: Stocktake,
    at: Spot | None,
    *,
    problem: str = "",
    reading: readings.Reading | None = None,
    form: UnlabelledForm | None = None,
) -> HttpResponse:
    last = request.GET.get("last", "")
    here = queries.sightings_of(row).filter(place=at.place) if at else Sighting.objects.none()
    seen = list(here[:MOST_SHOWN])
    stop = row.stops.filter(place=at.place).first() if at else None
    if reading is not None:
        problem = reading.problem or f"{reading.text} is a blank that is bound to nothing yet."
    spot = {"at": at.place.code if at else "", "box": at.inside.pk if at and at.inside else ""}
    context = {
        "stocktake": row,
        "at": at,
        "stop": stop,
        "spot": spot,
        "problem": problem,
        "unread": reading.text if reading is not None and reading.text else "",
        "seen": seen,
        "last": next((one for one in seen if str(one.pk) == last), None),
        "seen_count": here.filter(inside=at.inside).count() if at and at.inside else here.count(),
        "client_id": uuid4(),
        "unlabelled": form or UnlabelledForm(by=user_of(request), initial=spot),
        "form": form,
        "has_errors": bool(problem),
        "steps": steps_of(row, at.place.code if at else "Count"),
        "way": queries.way_to(at.place) if at else "",
        "cold": cold_at(at.place) if at else "",
        "stops_plain": json.dumps(queries.stop_codes(row)),
    }
    return render_page(request, "catalog/stocktake/count.html", context, part="catalog/stocktake/_count.html")


@require_POST
def unlabelled(request: HttpRequest, reference: str) -> HttpResponse:
    """Something whose label cannot be read, or that has none: a line of its own."""
    row = stocktake_or_404(reference)
    at, form = _spot(row, request.POST), UnlabelledForm(request.POST, by=user_of(request))
    if at is None:
        return _count_page(request, row, None, problem=_NO_SHELF)
    if not form.is_valid():
        return _count_page(request, row, at, form=form)
    facts = form.cleaned_data
    field = "words" if facts["label"] == "none" else "reads"
    what = {field: facts["words"], "is_container": facts["what"] == "container"}
    return _see(request, row, at, facts["client_id"], what)


@require_POST
def take_back(request: HttpRequest, reference: str) -> HttpResponse:
    """The last scan was a mistake."""
    row = stocktake_or_404(reference)
    number = request.POST.get("sighting", "")
    found = row.sightings.filter(pk=number) if number.isdecimal() else row.sightings.none()
    one = found.select_related("place", "piece", "container", "inside", "stocktake").first()
    if one is None:
        raise Http404("That was not seen in this stocktake.")
    try:
        actions.take_back(by=user_of(request), sighting=one)
        messages.success(request, f"{one.words} is taken back.")
    except CatalogError as error:
        messages.error(request, error.sentence)
    return redirect(_address(row, one.place, one.inside))


@require_POST
def counted(request: HttpRequest, reference: str) -> HttpResponse:
    """All of a place is counted; on to the next."""
    row = stocktake_or_404(reference)
    place = place_by_code(request.POST.get("at", ""))
    if place is None:
        raise Http404("There is no such place.")
    again = "again" in request.POST
    try:
        actions.count_stop(by=user_of(request), stocktake=row, place=place, counted=not again)
        messages.success(request, f"{place.code} is {'open again' if again else 'counted'}.")
    except CatalogError as error:
        messages.error(request, error.sentence)
    return redirect("stocktake:stocktake", row.reference)
