"""The tree of places, one place, adding and changing it."""

from typing import Any, cast

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from catalog.access.models import User
from catalog.access.permissions import Ability, can
from catalog.core import clock, house
from catalog.core.checks import blame
from catalog.core.errors import CatalogError
from catalog.core.history import lines_of
from catalog.core.history_words import Say, rows
from catalog.core.http import render_page
from catalog.core.units import show_length, show_weight
from catalog.storage import actions, found_queries, place_queries, queries, receiving_queries, search_queries, tree
from catalog.storage.calc.handling import cold_words
from catalog.storage.forms import EditPlaceForm, PlaceForm, PutForm
from catalog.storage.missing_models import FoundThing
from catalog.storage.models import MissingFile, Place, PlaceKind, State
from catalog.storage.place_queries import Content
from catalog.storage.room_queries import handling_in, photos_of, room_context

# How this room's facts are said in a history line.
_SAY: Say = {"tare_g": show_weight, "gross_g": show_weight, "width_mm": show_length}


def user_of(request: HttpRequest) -> User:
    """The signed-in person; the address table let nobody else through."""
    return cast("User", request.user)


def place_or_404(code: str) -> Place:
    """The place of this code in any case."""
    place = queries.place_by_code(code)
    if place is None:
        raise Http404(f"There is no place {code}.")
    return place


def steps_of(path: list[Place], *more: str) -> list[dict[str, str]]:
    """The breadcrumbs of a place, from the list of all places; with `more`, words after it."""
    steps = [{"word": "Places", "url": reverse("storage:places")}]
    steps += [
        {"word": name, "url": reverse("storage:place", args=[step.code])}
        for step, name in zip(path, tree.names(path), strict=True)
    ]
    if not more and len(steps) > 1:
        steps[-1] = {**steps[-1], "url": ""}
    return steps + [{"word": word, "url": ""} for word in more]


def places(request: HttpRequest) -> HttpResponse:
    """The rooms with what is in them and how old the sightings are."""
    user = user_of(request)
    cards, loose = place_queries.room_cards(user)
    context = {
        "cards": [card for card in cards if card.room.kind != PlaceKind.AWAY],
        "away": [card for card in cards if card.room.kind == PlaceKind.AWAY],
        "loose": loose,
        "pieces": sum(card.pieces for card in cards if card.room.kind != PlaceKind.AWAY),
        "missing": place_queries.missing_now().count(),
        "may_arrange": can(user, Ability.ARRANGE_STORE),
        "may_see_staff": can(user, Ability.SEE_STAFF),
        "may_record": can(user, Ability.RECORD),
        **_unseen(),
    }
    return render_page(request, "catalog/storage/places.html", context)


def place(request: HttpRequest, code: str) -> HttpResponse:
    """One place: where it is, what it holds, whether one person can lift it, what is not at home in it."""
    found = place_or_404(code)
    if found.code != code:
        return redirect("storage:place", found.code)
    return render_page(request, "catalog/storage/place.html", place_context(user_of(request), found))


def place_context(user: User, found: Place, put_form: PutForm | None = None) -> dict[str, Any]:
    """Everything the page of a place shows."""
    path = queries.path(found)
    held = place_queries.content(found, user)
    climate = next((s for s in reversed(path) if s.target_c_tenths is not None or s.target_rh is not None), None)
    may_move = can(user, Ability.MOVE)
    missing = place_queries.open_file(found) if found.is_container else None
    receipt = receiving_queries.open_receipt_of(found) if found.is_container else None
    as_came = receiving_queries.lift_as_received(receipt, path) if receipt else None
    lift = as_came or place_queries.lift_of(found, held, path)
    return _search_context(user, found, held, missing) | {
        "place": found,
        "path": path,
        "steps": steps_of(path),
        "held": held,
        **room_context(found, held.count, user),
        "photos": photos_of(held.standings, user) if found.is_container else {},
        "lift": lift,
        "receipt": receipt,
        "climate": climate,
        "cold": cold_words(climate.target_c_tenths if climate else None, found.kind),
        "missing": missing,
        "strays": list(place_queries.not_at_home(found, user)[:50]),
        "stray_boxes": list(place_queries.containers_not_at_home(found)[:50]),
        "quarantined": place_queries.quarantined_in_store(found, path, user),
        "found_here": list(found_queries.found_in(found)) if can(user, Ability.SEE_STAFF) else [],
        "label": queries.label_of(place=found),
        "lines": rows(lines_of(found.subject)[:10], _SAY),
        "put_form": put_form or PutForm(by=user),
        "may_move": may_move,
        "may_put": may_move and found.kind != "away" and found.state == "in store",
        "may_arrange": can(user, Ability.ARRANGE_STORE),
        "may_record": can(user, Ability.RECORD),
        "may_see_staff": can(user, Ability.SEE_STAFF),
        "may_rescue": can(user, Ability.RESCUE),
        **_unseen(),
    }


def _unseen() -> dict[str, Any]:
    """What nobody has seen for the house's number of years is found by Find: the day that it is asked for."""
    years, today = int(house.value("stand.not_seen_years")), clock.today()
    return {"unseen_years": years, "unseen_since": today.replace(day=1, year=today.year - years)}


def _search_context(user: User, found: Place, held: Content, missing: MissingFile | None) -> dict[str, Any]:
    """For a container that is not found: what is known of it, where to look, what is in it with its value."""
    if not found.is_container or found.state != State.NOT_FOUND or not can(user, Ability.SEE_STAFF):
        return {}
    if can(user, Ability.SEE_VALUES):
        inside = search_queries.contents_with_value(held.standings)
    else:
        inside = {"contents": [(one, "") for one in held.standings], "worth": None}
    return {"search": search_queries.search_for(found, missing), "handling": handling_in(found, user)} | inside


def add_place(request: HttpRequest) -> HttpResponse:
    """Add a room, shelf or trunk."""
    user = user_of(request)
    form = PlaceForm(request.POST or None, by=user, initial={"parent": request.GET.get("in", "")})
    if request.method == "POST" and form.is_valid():
        try:
            made = actions.add_place(by=user, **form.facts())
        except CatalogError as error:
            blame(form, error)
        else:
            return redirect("storage:place", made.code)
    return render_page(request, "catalog/storage/place_form.html", {"form": form, "place": None})


def edit_place(request: HttpRequest, code: str) -> HttpResponse:
    """Change what is known of a place."""
    user, found = user_of(request), place_or_404(code)
    initial = {name: getattr(found, name) for name in PlaceForm.base_fields if hasattr(found, name)}
    if found.target_c_tenths is not None:
        initial["target_c"] = found.target_c_tenths / 10
    form = EditPlaceForm(request.POST or None, by=user, place=found, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            actions.edit_place(by=user, place=found, **form.facts())
        except CatalogError as error:
            blame(form, error)
        else:
            return redirect("storage:place", found.code)
    steps = steps_of(queries.path(found), "Change")
    return render_page(request, "catalog/storage/place_form.html", {"form": form, "place": found, "steps": steps})


@require_POST
def put_here(request: HttpRequest, code: str) -> HttpResponse:
    """Put what was scanned into this place, and stay here for the next scan."""
    user, found = user_of(request), place_or_404(code)
    form = PutForm(request.POST, by=user)
    if form.is_valid():
        thing = form.cleaned_data["code"]
        try:
            if isinstance(thing, FoundThing):
                actions.move_found(by=user, found=thing, to=found)
            elif isinstance(thing, Place):
                actions.move_container(by=user, container=thing, to=found)
            else:
                actions.move_piece(by=user, piece=thing, to=found)
        except CatalogError as error:
            form.add_error("code", error.sentence)
        else:
            return redirect(f"{reverse('storage:place', args=[found.code])}?put={thing}")
    context = place_context(user, place_or_404(code), form)
    return render_page(request, "catalog/storage/place.html", context | {"form": form})
