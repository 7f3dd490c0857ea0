"""What must be looked at this month, as one walk: room by room in walking order."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.db.models import QuerySet

from catalog.care.inspection_queries import ToLookAt, due_by
from catalog.pieces.models import Piece
from catalog.storage import tree
from catalog.storage.models import Place, PlaceKind, Standing, State
from catalog.storage.queries import walking_keys


@dataclass(frozen=True, slots=True)
class Stop:
    """A piece on the walk: what is due, and the way to it, outermost first."""

    due: ToLookAt
    here: tuple[Place, ...]

    @property
    def room(self) -> str:
        """The room's name; its site where it stands in no room."""
        rooms = [place for place in self.here if place.kind == PlaceKind.ROOM]
        return (rooms[-1] if rooms else self.here[0]).name

    @property
    def words(self) -> str:
        """The way from the room on: "R2-C, in B7"."""
        boxes = [place for place in self.here if place.is_container]
        fixed = [place for place in self.here if not place.is_container]
        return ", ".join([*(place.code for place in fixed[-1:]), *(f"in {box.code}" for box in boxes)])


@dataclass(frozen=True, slots=True)
class Walk:
    """All that is due: the stops in walking order, and what is due but not in the store, with its state."""

    stops: tuple[Stop, ...]
    elsewhere: tuple[tuple[ToLookAt, str], ...]

    @property
    def rooms(self) -> list[tuple[str, int]]:
        """How many stops in each room, in walking order."""
        return [(room, len(list(some))) for room, some in groupby(self.stops, key=lambda stop: stop.room)]


def walk_of(pieces: QuerySet[Piece], until: date) -> Walk:
    """The walk through everything of these pieces that is due by the day; a fixed number of queries."""
    due = due_by(pieces, until)
    stands = {row.piece_id: row for row in Standing.objects.filter(piece__in=[one.piece.pk for one in due])}
    at = {row.place_id for row in stands.values() if row.state == State.IN_STORE and row.place_id}
    paths, keys = tree.paths(at), walking_keys(at)
    lost = {pk for pk, path in paths.items() if any(place.state == State.NOT_FOUND for place in path)}
    stops, elsewhere = [], []
    for one in due:
        row = stands.get(one.piece.pk)
        if row is not None and row.place_id in paths and row.place_id not in lost:
            stops.append((keys[row.place_id], one.piece.number, Stop(one, tuple(paths[row.place_id]))))
        else:
            elsewhere.append((one, _why(row, lost)))
    return Walk(tuple(stop for _, _, stop in sorted(stops, key=lambda row: row[:2])), tuple(elsewhere))


def by_room(stops: Iterable[Stop]) -> list[tuple[str, list[Stop]]]:
    """The stops under their rooms, in walking order."""
    return [(room, list(some)) for room, some in groupby(stops, key=lambda stop: stop.room)]


def _why(row: Standing | None, lost: set[int]) -> str:
    if row is None:
        return "no place yet"
    if row.place_id in lost:
        return "its trunk is not found"
    return row.state if row.state != State.IN_STORE else "no place recorded"
