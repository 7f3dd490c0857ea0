"""What a place holds: content, weight, lift mark, what is not at home there; the rooms; what is missing."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import Count, F, Max, Min, Q, QuerySet, Sum

from catalog.access.models import User
from catalog.care.models import Quarantine
from catalog.core import house
from catalog.pieces.models import Piece
from catalog.storage import tree
from catalog.storage.calc.handling import cold_words
from catalog.storage.calc.lifting import LiftMark, lift_mark
from catalog.storage.calc.walking import natural_key
from catalog.storage.models import MissingFile, Place, PlaceKind, Standing, State
from catalog.storage.standing import APART

MOST_SHOWN = 300


@dataclass(frozen=True, slots=True)
class Content:
    """What lies in a place with everything under it. Weights count what is present; unweighed things are counted."""

    standings: list[Standing]
    containers: list[Place]
    shelves: list[Place]
    count: int
    net_g: int
    unweighed: int
    tare_g: int
    untared: int
    shown: int
    by_child: dict[int, int]

    @property
    def gross_g(self) -> int:
        """Content and containers together, as far as weighed."""
        return self.net_g + self.tare_g

    @property
    def not_weighed(self) -> int:
        """Things without a weight, containers included."""
        return self.unweighed + self.untared


def content(place: Place, by: User | None = None) -> Content:
    """What a place holds, at any depth; `by` leaves out what this person may not see (weights and counts too)."""
    rows = Standing.objects.filter(place__in=tree.under(place))
    if by is not None:
        rows = rows.filter(piece__in=Piece.objects.seen_by(by))
    sums = rows.aggregate(
        count=Count("id"), net=Sum("piece__weight_g"), unweighed=Count("id", filter=Q(piece__weight_g__isnull=True))
    )
    inside = list(tree.under(place).exclude(pk=place.pk).select_related("parent"))
    boxes = [one for one in [place, *inside] if one.is_container]
    shown = list(rows.select_related("piece", "place", "home").order_by("piece__number")[:MOST_SHOWN])
    shown.sort(key=lambda s: (s.place_id != place.pk, natural_key(s.piece.number)))
    return Content(
        standings=shown,
        containers=sorted((b for b in inside if b.is_container), key=_in_order),
        shelves=sorted((s for s in inside if s.parent_id == place.pk and not s.is_container), key=_in_order),
        count=sums["count"],
        net_g=sums["net"] or 0,
        unweighed=sums["unweighed"],
        tare_g=sum(box.tare_g or 0 for box in boxes),
        untared=sum(box.tare_g is None for box in boxes),
        shown=len(shown),
        by_child=_by_child(place, inside, rows),
    )


def _by_child(place: Place, inside: list[Place], rows: QuerySet[Standing]) -> dict[int, int]:
    """How many pieces lie in each thing that stands directly in the place, at any depth."""
    parents = {one.pk: one.parent_id for one in inside}
    totals: dict[int, int] = {}
    for at, number in rows.order_by().values_list("place").annotate(n=Count("id")):
        child = at
        while child in parents and parents[child] != place.pk:
            child = parents[child]
        totals[child] = totals.get(child, 0) + number
    return totals


def lift_of(place: Place, held: Content, steps: Iterable[Place]) -> LiftMark | None:
    """The lift mark of a container with its content; a shelf is not lifted, so it has none."""
    if not place.is_container:
        return None
    limit = int(house.value("lift.one_person_g"))
    return lift_mark(held.gross_g, held.not_weighed, limit, above_reach=any(step.needs_steps for step in steps))


def cold_at(place: Place) -> str:
    """The caution of a cold place, by the nearest target around it, or nothing."""
    targets = [step.target_c_tenths for step in tree.path(place) if step.target_c_tenths is not None]
    return cold_words(targets[-1] if targets else None, place.kind)


def not_at_home(place: Place | None = None, by: User | None = None) -> QuerySet[Standing]:
    """Pieces in store that stand elsewhere than at home, in this place or anywhere; pieces on a job are not among them.

    A piece whose home is its trunk is at home in it wherever the trunk stands.
    """
    rows = Standing.objects.filter(state=State.IN_STORE, home__isnull=False).exclude(place=F("home"))
    if place is not None:
        rows = rows.filter(place__in=tree.under(place))
    if by is not None:
        rows = rows.filter(piece__in=Piece.objects.seen_by(by))
    return rows.select_related("piece", "place", "home").order_by("piece__number")


def containers_not_at_home(place: Place | None = None) -> QuerySet[Place]:
    """Containers in store that stand elsewhere than at home."""
    rows = Place.objects.filter(state=State.IN_STORE, home__isnull=False).exclude(parent=F("home"))
    if place is not None:
        rows = rows.filter(pk__in=tree.under(place))
    return rows.select_related("parent", "home")


@dataclass(slots=True)
class RoomCard:
    """A room with what is in it, at any depth."""

    room: Place
    children: list[Place] = field(default_factory=list)
    pieces: int = 0
    containers: int = 0
    never_seen: int = 0
    oldest: date | None = None
    newest: date | None = None


def room_cards(by: User) -> tuple[list[RoomCard], list[Place]]:
    """The rooms in walking order with counts and the age of their sightings, and containers that stand nowhere.

    Two queries whatever the size: the tree once, the standings counted by place.
    """
    places = {place.pk: place for place in Place.objects.all()}
    cards = {pk: RoomCard(place) for pk, place in places.items() if not place.is_container and _is_room(place, places)}
    loose = []
    for place in places.values():
        card = _card_of(place, places, cards)
        if place.is_container:
            if card is None:
                loose.append(place)
            else:
                card.containers += 1
        elif card is not None and place.parent_id == card.room.pk:
            card.children.append(place)
    counted = Standing.objects.filter(piece__in=Piece.objects.seen_by(by), place__isnull=False).values("place")
    never = Count("id", filter=Q(last_seen__isnull=True))
    for row in counted.annotate(n=Count("id"), first=Min("last_seen"), last=Max("last_seen"), never=never):
        card = _card_of(places[row["place"]], places, cards)
        if card is not None:
            card.pieces += row["n"]
            card.never_seen += row["never"]
            card.oldest = min(filter(None, (card.oldest, row["first"])), default=None)
            card.newest = max(filter(None, (card.newest, row["last"])), default=None)
    for card in cards.values():
        card.children.sort(key=_in_order)
    ordered = sorted(cards.values(), key=lambda c: [_in_order(step) for step in _climb(c.room, places)])
    return ordered, sorted(loose, key=_in_order)


def missing_now() -> QuerySet[MissingFile]:
    """Open missing files, the longest unseen first."""
    rows = MissingFile.objects.filter(closed_on__isnull=True)
    rows = rows.select_related("piece__production", "container", "last_place")
    return rows.order_by(F("last_seen").asc(nulls_first=True), "id")


def open_file(container: Place) -> MissingFile | None:
    """The open missing file of a container."""
    return missing_now().filter(container=container).first()


def missing_list() -> dict[str, Any]:
    """What the page of missing things shows to staff: containers with what went with them, then single pieces."""
    files = list(missing_now())
    boxes = [file.container for file in files if file.container is not None]
    without = list(lost_without_file())
    inside: dict[int, list[Standing]] = {box.pk: [] for box in [*boxes, *without]}
    lost = Standing.objects.filter(state=State.NOT_FOUND, place__isnull=False).select_related("piece")
    rows = list(lost.order_by("piece__number"))
    steps = tree.paths({row.place_id for row in rows if row.place_id is not None})
    for row in rows:
        for step in steps[row.place_id or 0]:
            if step.pk in inside:
                inside[step.pk].append(row)
    return {
        "boxes": [(file, file.container, inside[file.container.pk]) for file in files if file.container is not None],
        "unwritten": [(box, inside[box.pk]) for box in without],
        "pieces": [file for file in files if file.piece is not None],
        "count": len(files) + len(without),
        "with_them": sum(len(rows) for rows in inside.values()),
    }


def quarantined_in_store(place: Place, path: list[Place], by: User) -> list[str]:
    """Pieces in open quarantine that lie in the main store here: they must be taken apart from it."""
    if any(step.kind in APART for step in path):
        return []
    inside = {one.pk: one for one in tree.under(place)}
    kept_apart = {pk for pk in inside if any(step.kind in APART for step in _climb(inside[pk], inside))}
    rows = Quarantine.objects.filter(released_on__isnull=True, piece__standing__place__in=tree.under(place))
    rows = rows.exclude(piece__standing__place__in=kept_apart).filter(piece__in=Piece.objects.seen_by(by))
    return list(rows.order_by("piece__number").values_list("piece__number", flat=True))


def lost_without_file() -> QuerySet[Place]:
    """Containers that are not found though nobody opened a file: where they went was written nowhere."""
    open_files = MissingFile.objects.filter(closed_on__isnull=True, container__isnull=False)
    lost = Place.objects.filter(state=State.NOT_FOUND, parent__isnull=True)
    return lost.exclude(pk__in=open_files.values("container"))


def _is_room(place: Place, places: dict[int, Place]) -> bool:
    """A card for each room, and for each outermost place that is no site with rooms in it."""
    if place.kind == PlaceKind.ROOM:
        return True
    return (
        place.kind != PlaceKind.SITE
        and not any(p.kind == PlaceKind.ROOM for p in _climb(place, places))
        and (place.parent_id is None or places[place.parent_id].kind == PlaceKind.SITE)
    )


def _card_of(place: Place, places: dict[int, Place], cards: dict[int, RoomCard]) -> RoomCard | None:
    for step in reversed(_climb(place, places)):
        if step.pk in cards:
            return cards[step.pk]
    return None


def _climb(place: Place, places: dict[int, Place]) -> list[Place]:
    steps = [place]
    while (parent := places.get(steps[0].parent_id or 0)) is not None:
        steps.insert(0, parent)
    return steps


def _in_order(place: Place) -> tuple[int, object]:
    return place.order, natural_key(place.code)
