"""How much of the store was seen of late, by room and by value. A fixed number of queries."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from statistics import median
from typing import Any

from catalog.access.models import User
from catalog.core import house
from catalog.pieces.calc.values import money, money_words, sums
from catalog.pieces.models import Piece
from catalog.pieces.value_queries import newest_values
from catalog.storage.calc.coverage import YEARS, Seen, age_words, oldest_first
from catalog.storage.calc.walking import natural_key
from catalog.storage.models import Place, PlaceKind, Standing, State
from catalog.storage.stocktake_queries import HERE


@dataclass(slots=True)
class Room:
    """A room, how long its shelves are, and when what is in it was last seen."""

    place: Place
    seen: Seen = field(default_factory=Seen)
    shelf_mm: int = 0
    unmeasured: int = 0

    @property
    def age(self) -> str:
        """The typical age of its sightings in words."""
        return age_words(self.seen.typical_days) if self.seen.things else "empty"

    @property
    def short_age(self) -> str:
        """The same for the drawing."""
        return age_words(self.seen.typical_days, short=True) if self.seen.things else "empty"


@dataclass(slots=True)
class Worth:
    """Pieces of one sort of value: when seen, and what that is worth in all and within each number of years."""

    word: str
    seen: Seen = field(default_factory=Seen)
    amounts: list[dict[str, Decimal]] = field(default_factory=lambda: [{} for _ in range(len(YEARS) + 1)])

    def add(self, last_seen: date | None, today: date, value: tuple[str, Decimal] | None) -> None:
        """One more piece."""
        before = list(self.seen.within)
        self.seen.add(last_seen, today)
        if value is not None:
            held = [True, *(now > then for now, then in zip(self.seen.within, before, strict=True))]
            for place, counts in enumerate(held):
                if counts:
                    self.amounts[place] = sums([*self.amounts[place].items(), value])

    @property
    def columns(self) -> list[tuple[str, int | None]]:
        """In all, then within a year, two, five: the sum in words and the share of the pieces."""
        words = [money_words(amount) if amount else "" for amount in self.amounts]
        return list(zip(words, [None, *self.seen.shares], strict=True))


def coverage(by: User, today: date, *, with_values: bool) -> dict[str, Any]:
    """Everything that the page of coverage shows. What is out or not found is in no room."""
    places = {place.pk: place for place in Place.objects.all()}
    rooms = {pk: Room(place) for pk, place in places.items() if _is_room(place, places)}
    _measure(rooms, places)
    mine = Piece.objects.seen_by(by)
    rows = list(Standing.objects.filter(piece__in=mine, state__in=HERE).values_list("piece", "place", "last_seen"))
    total = Seen()
    for _, place, last_seen in rows:
        total.add(last_seen, today)
        room = _room_of(place, places, rooms)
        if room is not None:
            room.seen.add(last_seen, today)
    ordered = sorted(rooms.values(), key=lambda room: _way(room.place, places))
    stale = oldest_first((room.place.code, room.seen) for room in ordered)
    return {
        "rooms": ordered,
        "total": total,
        "typical": age_words(total.typical_days),
        "oldest": next((room for room in ordered if stale and room.place.code == stale[0]), None),
        "stale": [next(room for room in ordered if room.place.code == code) for code in stale],
        "lost": Standing.objects.filter(piece__in=mine, state=State.NOT_FOUND).count(),
        "worths": _worths(rows, today) if with_values else [],
    }


def _worths(rows: Sequence[tuple[int, int | None, date | None]], today: date) -> list[Worth]:
    """Split at the line from which a stocktake counts all; another currency cannot be compared with it."""
    line, currency = int(house.value("stocktake.high_value")), str(house.value("house.currency"))
    pieces = Piece.objects.filter(standing__state__in=HERE)
    values = {value.piece_id: (value.currency, value.amount) for value in newest_values(pieces)}
    words = money(currency, Decimal(line))
    high, low, none = Worth(f"{words} or more each"), Worth(f"less than {words} each"), Worth("not valued")
    for piece, _, last_seen in rows:
        value = values.get(piece)
        is_high = value is not None and (value[0] != currency or value[1] >= line)
        (none if value is None else high if is_high else low).add(last_seen, today, value)
    return [worth for worth in (high, low, none) if worth.seen.things]


def _measure(rooms: dict[int, Room], places: dict[int, Place]) -> None:
    """How much shelf each room has; a shelf nobody measured counts as long as the store's middling one."""
    parents = {place.parent_id for place in places.values() if not place.is_container}
    shelves = [place for place in places.values() if not place.is_container and place.pk not in parents]
    known = [place.width_mm for place in shelves if place.width_mm]
    usual = int(median(known)) if known else 1000
    for shelf in shelves:
        room = _room_of(shelf.pk, places, rooms)
        if room is not None:
            room.shelf_mm += shelf.width_mm or usual
            room.unmeasured += shelf.width_mm is None
    for room in rooms.values():
        room.shelf_mm = room.shelf_mm or usual


def _is_room(place: Place, places: dict[int, Place]) -> bool:
    """Rooms, and whatever stands on a site outside of any room; not what is away, and no containers."""
    if place.is_container or place.kind in (PlaceKind.SITE, PlaceKind.AWAY):
        return False
    above = places.get(place.parent_id or 0)
    return place.kind == PlaceKind.ROOM or above is None or above.kind == PlaceKind.SITE


def _room_of(pk: int | None, places: dict[int, Place], rooms: dict[int, Room]) -> Room | None:
    seen: set[int] = set()
    while pk is not None and pk not in seen and pk in places:
        if pk in rooms:
            return rooms[pk]
        seen.add(pk)
        pk = places[pk].parent_id
    return None


def _way(place: Place, places: dict[int, Place]) -> list[tuple[int, object]]:
    steps: list[tuple[int, object]] = []
    at: Place | None = place
    while at is not None:
        steps.insert(0, (at.order, natural_key(at.code)))
        at = places.get(at.parent_id or 0)
    return steps
