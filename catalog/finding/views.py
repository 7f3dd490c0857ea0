"""Find: the list, and the same list as a table to take away."""

from collections.abc import Iterator
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.utils.http import urlencode

from catalog.access.permissions import Ability, can
from catalog.core.http import render_page
from catalog.core.tables import csv_response
from catalog.finding.filters import QUESTIONS, PieceFilter
from catalog.finding.places import things_named
from catalog.finding.queries import for_list, visible
from catalog.pieces.models import Piece
from catalog.storage.models import Place, State
from catalog.storage.readings import address_of, name_of

PER_PAGE = 50
HEADER = (
    "number", "name", "kind", "production", "role", "slot", "set", "multiple", "look", "materials", "grade", "wear",
    "state", "place", "last seen",
)  # fmt: skip


def find(request: HttpRequest) -> HttpResponse:
    """Pieces by words and filters, fifty a page; the filters live in the address."""
    chosen, pieces = _chosen(request)
    page = Paginator(for_list(pieces), PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "form": chosen.form,
        "page": page,
        "things": _things(request, chosen, page.paginator.count),
        "questions": QUESTIONS,
        "chips": _chips(request, chosen) if chosen.form.is_valid() else [],
        "clear_url": request.path,
        "anything": page.paginator.count > 0 or visible(request.user).exists(),
        "may_record": can(request.user, Ability.RECORD),
        "may_see_staff": can(request.user, Ability.SEE_STAFF),
        "staff_lists": can(request.user, Ability.SEE_STAFF),
        "csv_query": request.GET.urlencode() if can(request.user, Ability.EXPORT) else None,
    }
    return render_page(request, "catalog/finding/find.html", context)


def find_csv(request: HttpRequest) -> HttpResponseBase:
    """Exactly what the list shows under these filters, all pages."""
    chosen, pieces = _chosen(request)
    if not chosen.form.is_valid():
        faults = " ".join(f"{field}: {' '.join(errors)}" for field, errors in chosen.form.errors.items())
        return HttpResponse(f"No table was made. {faults}", status=400, content_type="text/plain; charset=utf-8")
    return csv_response("pieces.csv", HEADER, _rows(for_list(pieces).prefetch_related("materials").iterator(500)))


def _chosen(request: HttpRequest) -> tuple[PieceFilter, Any]:
    data = request.GET.copy()
    data.setdefault("sort", "number")
    chosen = PieceFilter(data, queryset=visible(request.user))
    return chosen, chosen.qs if chosen.form.is_valid() else Piece.objects.none()


def _things(request: HttpRequest, chosen: PieceFilter, matches: int) -> list[dict[str, str]]:
    """Trunks and places that the words name, and a piece by its very number, for the top of the results."""
    if not chosen.form.is_valid():
        return []
    things = things_named(chosen.form.cleaned_data.get("text") or "", request.user)
    # A piece that is the only result stands there already.
    return [_tag(thing) for thing in things if not (isinstance(thing, Piece) and matches == 1)]


def _tag(thing: Piece | Place) -> dict[str, str]:
    cut = "piece" if isinstance(thing, Piece) else "trunk" if thing.is_container else "place"
    state = "" if isinstance(thing, Piece) or thing.state == State.IN_STORE else thing.get_state_display()
    return {"cut": cut, "number": name_of(thing), "name": thing.name, "url": address_of(thing), "state": state}


def _chips(request: HttpRequest, chosen: PieceFilter) -> list[dict[str, str]]:
    """One chip a filter that is on, with the address that takes it off."""
    chips = []
    for name, field in chosen.form.fields.items():
        value = chosen.form.cleaned_data.get(name)
        if value in (None, "") or name == "sort":
            continue
        rest = [(key, str(item)) for key, item in request.GET.items() if key not in (name, "page")]
        choices = dict(list(getattr(field, "choices", []))) if isinstance(value, str) else {}
        words = choices.get(value, value)
        chips.append({"word": f"{field.label}: {words}", "remove_url": f"{request.path}?{urlencode(rest)}"})
    return chips


def _rows(pieces: Any) -> Iterator[tuple[Any, ...]]:
    for piece in pieces:
        standing = getattr(piece, "standing", None)
        decided = piece.current_wear[0] if piece.current_wear else None
        wear = "no decision" if decided is None else "to be decided anew" if decided.questioned_on else decided.decision
        report = piece.reports_newest_first[0] if piece.reports_newest_first else None
        yield (
            piece.number,
            piece.name,
            piece.kind,
            piece.production.code,
            piece.role.code if piece.role else "",
            piece.slot.code if piece.slot else "",
            piece.set.code if piece.set else "",
            piece.multiple,
            piece.look.name if piece.look else "",
            ", ".join(material.name for material in piece.materials.all()),
            report.grade if report else "not graded",
            wear,
            standing.state if standing else "not placed",
            standing.place.code if standing and standing.place else "",
            standing.last_seen.isoformat() if standing and standing.last_seen else "never",
        )
