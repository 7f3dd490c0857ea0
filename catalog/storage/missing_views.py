"""The file of one missing thing: what is surely known, where to look next and why, the log of the search."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from catalog.access.models import User
from catalog.access.permissions import Ability, can
from catalog.core.checks import blame
from catalog.core.errors import CatalogError
from catalog.core.history import lines_of
from catalog.core.history_words import rows
from catalog.core.http import render_page
from catalog.pieces.calc.values import money
from catalog.pieces.models import Piece
from catalog.pieces.value_queries import newest_values
from catalog.storage import actions, queries, search_queries
from catalog.storage.forms import SearchForm
from catalog.storage.missing_models import SearchThoroughness
from catalog.storage.models import MissingFile, Place
from catalog.storage.queries import place_by_code
from catalog.storage.readings import address_of
from catalog.storage.search_queries import Search
from catalog.storage.seen_there import seen_there
from catalog.storage.views import user_of

# Only what was seen and done with it: a line about a value is not for everybody who searches.
SIGHTINGS: tuple[str, ...] = ("received", "moved", "seen", "sent out", "brought back", "taken to treatment")
SIGHTINGS += ("not found", "searched", "found", "known again")


def missing_file(request: HttpRequest, pk: int) -> HttpResponse:
    """One missing file, open or closed."""
    file = _file_or_404(pk)
    user, asked = user_of(request), request.GET.get("place", "")
    search = search_queries.search_for(_thing(file), file)
    at = place_by_code(asked) or (search.next.place if search.next else None)
    scanned, there = request.GET.get("code", "").strip()[:120], None
    if scanned and file.closed_on is None and can(user, Ability.MOVE):
        there = seen_there(file, at, scanned, user)
        if there.go:
            return redirect(there.go)
    form = SearchForm(by=user, initial={"place": asked or at or ""})
    here = next((look for look in search.looks if asked and look.place == at), None)
    context = _context(user, file, search, form) | {"there": there, "here": here}
    context["others"] = search.looks if here else search.rest
    return render_page(request, "catalog/storage/missing_file.html", context)


@require_POST
def log_search(request: HttpRequest, pk: int) -> HttpResponse:
    """A place was searched: not found, or found there."""
    user, file = user_of(request), _file_or_404(pk)
    form = SearchForm(request.POST, by=user, found="found" in request.POST)
    if form.is_valid():
        facts = dict(form.cleaned_data)
        if "found" in request.POST and file.container is not None:
            found = reverse("storage:mark_container_found", args=[file.container.code])
            return redirect(f"{found}?at={facts['place'].code}")
        try:
            said = _kept(user, file, facts, found="found" in request.POST)
        except CatalogError as error:
            blame(form, error)
        else:
            messages.success(request, said)
            return redirect("storage:missing_file", file.pk)
    search = search_queries.search_for(_thing(file), file)
    return render_page(request, "catalog/storage/missing_file.html", _context(user, file, search, form))


def _kept(user: User, file: MissingFile, facts: dict[str, Any], *, found: bool) -> str:
    """Keep the search and say what it did."""
    place = facts["place"]
    if found:
        facts.pop("client_id")
        facts["thoroughness"] = facts["thoroughness"] or SearchThoroughness.THROUGH
        actions.find_here(by=user, file=file, **facts)
        return f"{_thing(file)} is found at {place.code}; its file is closed."
    actions.log_search(by=user, file=file, **facts)
    return f"{place.code} is written as searched. The chances of the other places are worked out anew."


def _context(user: User, file: MissingFile, search: Search, form: SearchForm) -> dict[str, Any]:
    thing = _thing(file)
    return {
        "file": file,
        "thing": thing,
        "thing_url": address_of(thing),
        "is_box": isinstance(thing, Place),
        "search": search,
        "others": search.rest,
        "form": form,
        "standing": getattr(thing, "standing", None),
        "worth": _worth(user, thing),
        "inside": queries.standings_under(thing).count() if isinstance(thing, Place) else 0,
        "last_place": file.last_place,
        "last_day": file.last_seen,
        "last_who": search.last.by_name if search.last and search.last.from_place == file.last_place else "",
        "may_move": can(user, Ability.MOVE),
        "lines": rows(lines_of(thing.subject).filter(verb__in=SIGHTINGS)[:12], {}),
        "steps": [
            {"word": "Missing", "url": reverse("storage:missing")},
            {"word": str(thing), "url": address_of(thing)},
            {"word": "Search", "url": ""},
        ],
    }


def _worth(user: User, thing: Piece | Place) -> str | None:
    """The newest value in words, for those who may see values; empty when it was never valued."""
    if not can(user, Ability.SEE_VALUES):
        return None
    if isinstance(thing, Place):
        standings = list(queries.standings_under(thing))
        return str(search_queries.contents_with_value(standings)["worth"])
    value = newest_values(Piece.objects.filter(pk=thing.pk)).first()
    return "" if value is None else f"{money(value.currency, value.amount)}"


def _thing(file: MissingFile) -> Piece | Place:
    thing = file.piece or file.container
    if thing is None:
        raise TypeError("a missing file is of a piece or of a container")
    return thing


def _file_or_404(pk: int) -> MissingFile:
    rows = MissingFile.objects.select_related("piece__production", "piece__standing", "container", "last_place")
    return get_object_or_404(rows, pk=pk)
