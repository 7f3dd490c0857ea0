"""What the rows know of a lost thing, gathered for the ranking in a fixed number of queries."""

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import Count, F, Q, QuerySet
from django.db.models.functions import Upper
from django.utils import timezone

from catalog.pieces.models import Piece
from catalog.storage import tree
from catalog.storage.calc.clues import Clues, Hop, Lost, Spot
from catalog.storage.calc.misread import likely_readings
from catalog.storage.calc.where import SAME_DAYS, SAME_REASON_DAYS, WORK_KINDS
from catalog.storage.count_clues import counted_without, sights_of
from catalog.storage.models import MissingFile, Move, Place, PlaceKind, Standing, State

# A person's other work is looked at this long before and after, jobs that were out likewise.
PERSON_DAYS = timedelta(days=14)
JOB_DAYS = timedelta(days=14)
MOST_MOVES = 500
# Of the places that a count names, and of the places in the room of the loss.
MOST_NAMED, MOST_IN_ROOM = 60, 3000

Thing = Piece | Place


# A mistaken scan and the move that took it back say nothing of where things went.
STOOD = Q(undoes__isnull=True, undone_by__isnull=True)


@dataclass(frozen=True, slots=True)
class Gathered:
    """The clues, the places they speak of, the thing's own moves, the newest first, and where counts missed it."""

    clues: Clues
    places: dict[int, Place]
    moves: list[Move]
    read_as: list[str]
    counted: list[int]

    @property
    def last_move(self) -> Move | None:
        """The last time that somebody is written to have had it in hand."""
        return self.moves[0] if self.moves else None


def gather(thing: Thing, file: MissingFile | None) -> Gathered:
    """Everything the ranking of this thing is made from."""
    moves = list(thing.moves.filter(STOOD).select_related("from_place", "to_place"))
    standing = None if isinstance(thing, Place) else Standing.objects.filter(piece=thing).first()
    lost = _lost(thing, file, moves, standing)
    alike, read_as = _alike(thing, moves)
    sights = sights_of(thing, lost.went)
    counts = {
        "together": _together(thing, lost),
        "returned": _returned(lost),
        "kindred": _kindred(thing),
        "bustle": {},
    }
    hops = _hops(thing, lost)
    named = {place for _, place in alike} | {hop.end for hop in (*hops, *lost.own)} | {hop.start for hop in lost.own}
    named |= {sight.place for sight in sights}
    named |= {place for some in counts.values() for place in some} | {lost.last, lost.home}
    places, room = _places(thing, lost, {pk for pk in named if pk is not None})
    counts["bustle"] = _bustle(thing, room)
    spots = {pk: _spot(place) for pk, place in places.items()}
    clues = Clues(lost=lost, spots=spots, hops=hops, alike=tuple(alike), sights=sights, **counts)
    return Gathered(clues, places, moves, read_as, counted_without(lost.went, sights))


def cause_of(reason: str) -> str:
    """The first clause of a reason: "roof leak: taken out, not written" is "roof leak"."""
    return re.split(r"[:;,.(]", reason, maxsplit=1)[0].strip()


def _lost(thing: Thing, file: MissingFile | None, moves: list[Move], standing: Standing | None) -> Lost:
    last = moves[0] if moves else None
    # What was only received was in nobody's hand before; a list is loaded by somebody who never saw the thing.
    held = last if last is not None and last.from_place_id is not None else None
    left = last is not None and last.to_place_id is None
    place = file.last_place_id if file else None
    if place is None and last is not None:
        place = last.from_place_id if left else last.to_place_id
    seen = (file.last_seen if file else None) or (thing.last_seen if isinstance(thing, Place) else None)
    return Lost(
        code=str(thing),
        container=isinstance(thing, Place),
        last=place,
        home=thing.home_id if isinstance(thing, Place) else (standing.home_id if standing else None),
        went=_moment(last, seen),
        who=held.by_name if held else "",
        cause=cause_of(held.reason) if held else "",
        left=left and (file is None or last is None or file.last_place_id in (None, last.from_place_id)),
        own=tuple(_hop(move) for move in moves),
    )


def _moment(last: Move | None, seen: date | None) -> datetime | None:
    """After which nothing sure is known: the last move, or noon of a later sighting."""
    if last is not None and (seen is None or seen <= timezone.localdate(last.happened)):
        return last.happened
    return None if seen is None else timezone.make_aware(datetime.combine(seen, time(12)))


def _hop(move: Move) -> Hop:
    thing = f"piece {move.piece_id}" if move.piece_id else f"box {move.container_id}"
    return Hop(thing, move.from_place_id, move.to_place_id, move.happened, move.by_name, cause_of(move.reason))


def _others(thing: Thing) -> QuerySet[Move]:
    """The moves of everything else; what lies in a lost container went with it and says nothing."""
    if isinstance(thing, Place):
        rows = Move.objects.exclude(container=thing).exclude(piece__standing__place=thing)
    else:
        rows = Move.objects.exclude(piece=thing)
    return rows.filter(STOOD, to_place__isnull=False)


def _hops(thing: Thing, lost: Lost) -> tuple[Hop, ...]:
    """Moves of other things about that day, for that reason, or by that person."""
    if lost.went is None:
        return ()
    about = Q(happened__range=_around(lost.went, SAME_DAYS))
    if lost.cause:
        about |= Q(happened__range=_around(lost.went, SAME_REASON_DAYS), reason__icontains=lost.cause)
    if lost.who:
        about |= Q(happened__range=_around(lost.went, PERSON_DAYS), by_name=lost.who)
    # What a list received straight at its home, or away, moved nowhere.
    listed = Q(from_place__isnull=True, to_place=F("piece__standing__home"))
    listed |= Q(from_place__isnull=True, to_place=F("container__home"))
    listed |= Q(from_place__isnull=True, to_place__kind=PlaceKind.AWAY)
    rows = _others(thing).filter(about).exclude(listed).order_by("-happened", "-id")[:MOST_MOVES]
    return tuple(_hop(move) for move in rows)


def _together(thing: Thing, lost: Lost) -> dict[int, int]:
    """Where things from the same place went since."""
    if lost.last is None or lost.went is None:
        return {}
    rows = _others(thing).filter(from_place=lost.last, happened__gte=lost.went - SAME_DAYS)
    return _counted(rows.exclude(to_place=lost.last), "to_place")


def _returned(lost: Lost) -> dict[int, int]:
    """Where things of jobs came back that went out about then."""
    if lost.went is None:
        return {}
    out = Move.objects.filter(
        STOOD, piece__isnull=False, to_place__isnull=True, happened__range=_around(lost.went, JOB_DAYS)
    )
    back = Move.objects.filter(piece__in=out.values("piece"), from_place__isnull=True, to_place__isnull=False)
    return _counted(back.filter(happened__gt=lost.went - JOB_DAYS), "to_place")


def _kindred(thing: Thing) -> dict[int, int]:
    """Where things of its kind and production lie."""
    if isinstance(thing, Place):
        return {}
    rows = Standing.objects.filter(piece__kind=thing.kind, piece__production=thing.production_id, state=State.IN_STORE)
    return _counted(rows.exclude(piece=thing), "place")


def _bustle(thing: Thing, room: set[int]) -> dict[int, int]:
    """Where things from the room were taken over the years, out of the room."""
    if not room:
        return {}
    some = sorted(room)[:MOST_IN_ROOM]
    rows = _others(thing).filter(from_place__in=some).exclude(to_place__in=some)
    return _counted(rows, "to_place")


def _counted(rows: QuerySet[Any], field: str) -> dict[int, int]:
    found = rows.order_by().values_list(field).annotate(n=Count("id")).order_by("-n", field)[:MOST_NAMED]
    return dict(found)


def _alike(thing: Thing, moves: list[Move]) -> tuple[list[tuple[str, int]], list[str]]:
    """Things and places that read like it: by name, with their place; and readings of a container that nothing has."""
    near = likely_readings(str(thing))
    shelves = {place.code for move in moves[:1] for place in (move.to_place, move.from_place) if place is not None}
    shelf_near = [text for code in shelves for text in likely_readings(code)]
    wanted = [*near, *shelf_near] if isinstance(thing, Place) else shelf_near
    rows = Place.objects.annotate(upper=Upper("code")).filter(upper__in=wanted)
    places = [place for place in rows if place.is_container or place.code.upper() in shelf_near]
    found = [(place.code, place.pk) for place in places]
    if isinstance(thing, Place):
        have = {place.code.upper() for place in places}
        return found, [text for text in near if text not in have]
    twins = Standing.objects.annotate(upper=Upper("piece__number")).filter(upper__in=near, state=State.IN_STORE)
    return [*found, *twins.values_list("piece__number", "place")], []


def _places(thing: Thing, lost: Lost, named: set[int]) -> tuple[dict[int, Place], set[int]]:
    """The places that the clues speak of, the room of the loss, the places of work, and what they all stand in."""
    way = tree.paths([lost.last])[lost.last] if lost.last is not None else []
    room = next((step for step in reversed(way) if step.kind == PlaceKind.ROOM), way[0] if way else None)
    near = list(tree.under(room)[:MOST_IN_ROOM]) if room is not None else []
    work = Place.objects.filter(kind__in=sorted(WORK_KINDS)).values_list("pk", flat=True)[:MOST_NAMED]
    steps = tree.paths(named | set(work))
    found = {step.pk: step for path in steps.values() for step in path} | {step.pk: step for step in [*way, *near]}
    inside = tree.ids_under(thing) if isinstance(thing, Place) else set()
    return {pk: place for pk, place in found.items() if _may_hold(place) and pk not in inside}, {p.pk for p in near}


def _may_hold(place: Place) -> bool:
    """A trunk that is out or lost itself cannot be looked into."""
    return not place.is_container or place.state == State.IN_STORE


def _spot(place: Place) -> Spot:
    return Spot(place.pk, place.code, place.kind, place.parent_id, place.order, place.is_container)


def _around(moment: datetime, days: timedelta) -> tuple[datetime, datetime]:
    return moment - days, moment + days
