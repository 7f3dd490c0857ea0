"""Reads of stocktakes: what to draw from, where to go, what was seen, what came of it. A fixed number of queries."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, F, Max, Q, QuerySet

from catalog.pieces.models import Piece
from catalog.pieces.value_queries import newest_values
from catalog.storage import tree
from catalog.storage.calc import sampling
from catalog.storage.calc.counted import Count as Counted
from catalog.storage.calc.counted import Recorded, Seen, Thing, differences
from catalog.storage.models import Label, Move, Place, PlaceKind, Sighting, Standing, State, Stocktake, StocktakeLine
from catalog.storage.queries import walking_keys
from catalog.storage.stocktake_models import LineKind, SightingKind, StocktakeDrawn

HERE = (State.IN_STORE, State.TREATMENT)
# Nobody counts the space between shelves: these are places to go to only where something is recorded directly in them.
_PASSED = (PlaceKind.SITE, PlaceKind.RACK, PlaceKind.BAY)


@dataclass(frozen=True, slots=True)
class Frame:
    """What a sample is drawn from: ids by number. What is valued in another currency cannot be compared: it is high."""

    high: dict[str, int]
    others: dict[str, int]
    unvalued: int


def frame(place: Place, high_value: int, currency: str) -> Frame:
    """The pieces that are recorded in the place now, by whether their value is high. Two queries."""
    pieces = Piece.objects.filter(standing__place__in=tree.under(place), standing__state__in=HERE)
    values = {value.piece_id: value for value in newest_values(pieces)}
    high: dict[str, int] = {}
    others: dict[str, int] = {}
    for pk, number in pieces.values_list("pk", "number"):
        value = values.get(pk)
        is_high = value is not None and (value.currency != currency or value.amount >= high_value)
        (high if is_high else others)[number] = pk
    return Frame(high, others, sum(pk not in values for pk in others.values()))


def stops_to_make(place: Place, drawn: Sequence[int] | None) -> list[Place]:
    """Where to go, in walking order: every shelf of the place, or those on which what was drawn is recorded."""
    area = {one.pk: one for one in tree.under(place)}
    standings = Standing.objects.filter(place__in=area, state__in=HERE)
    if drawn is not None:
        standings = standings.filter(piece__in=drawn)
    used = {_shelf_of(pk, area) for pk in standings.values_list("place", flat=True).distinct() if pk is not None}
    if drawn is None:
        used |= {_shelf_of(one.parent_id, area) for one in area.values() if one.is_container and one.parent_id in area}
        parents = {one.parent_id for one in area.values() if not one.is_container}
        used |= {
            pk
            for pk, one in area.items()
            if not one.is_container and not (one.kind in _PASSED and pk in parents) and one.kind != PlaceKind.AWAY
        }
    if place.is_container and place.parent is not None:
        return [place.parent]
    keys = walking_keys(pk for pk in used if pk is not None)
    return sorted((area[pk] for pk in used if pk in area), key=lambda one: keys[one.pk])


def _shelf_of(pk: int | None, places: dict[int, Place]) -> int | None:
    """The innermost place that does not move around this one."""
    while pk in places and places[pk].is_container:
        pk = places[pk].parent_id
    return pk


def open_stocktakes() -> QuerySet[Stocktake]:
    """Those that are being counted, the newest first."""
    return with_counts(Stocktake.objects.filter(closed_at__isnull=True))


def with_counts(rows: QuerySet[Stocktake]) -> QuerySet[Stocktake]:
    """With how many things were seen, places are left, and lines wait for an answer."""
    seen = Q(sightings__taken_back_at__isnull=True)
    return rows.select_related("place", "started_by", "closed_by").annotate(
        seen_count=Count("sightings", filter=seen, distinct=True),
        stops_left=Count("stops", filter=Q(stops__counted_at__isnull=True), distinct=True),
        stops_all=Count("stops", distinct=True),
        lines_left=Count("lines", filter=Q(lines__resolved_at__isnull=True), distinct=True),
        lines_all=Count("lines", distinct=True),
    )


def stocktake_of(reference: str) -> Stocktake | None:
    """The stocktake of this reference in any case."""
    return with_counts(Stocktake.objects.filter(reference__iexact=reference)).first()


@dataclass(frozen=True, slots=True)
class Stop:
    """A place to go to, the room it is in, how much was seen there, when all of it was counted."""

    place: Place
    room: Place | None
    seen: int
    counted_at: datetime | None


def stops_of(stocktake: Stocktake) -> list[Stop]:
    """The places to go to in walking order. Nothing of what is expected. Six queries."""
    stops = list(stocktake.stops.select_related("place"))
    seen = Sighting.objects.filter(stocktake=stocktake, taken_back_at__isnull=True).order_by().values_list("place")
    counts = dict(seen.annotate(n=Count("id")))
    keys = walking_keys(stop.place_id for stop in stops)
    paths = tree.paths(stop.place_id for stop in stops)
    rooms = {pk: next((one for one in steps if one.kind == PlaceKind.ROOM), None) for pk, steps in paths.items()}
    found = [Stop(stop.place, rooms[stop.place_id], counts.get(stop.place_id, 0), stop.counted_at) for stop in stops]
    return sorted(found, key=lambda stop: keys[stop.place.pk])


def counters_of(stocktake: Stocktake) -> list[str]:
    """Who counted."""
    names = stocktake.sightings.filter(taken_back_at__isnull=True).order_by("by_name").values_list("by_name", flat=True)
    return list(names.distinct())


def sightings_of(stocktake: Stocktake) -> QuerySet[Sighting]:
    """What was seen, the newest first."""
    return Sighting.objects.filter(stocktake=stocktake, taken_back_at__isnull=True).select_related(
        "piece", "container", "place", "inside__container", "stocktake"
    )


def lines_of_count(stocktake: Stocktake) -> list[StocktakeLine]:
    """The differences as rows to be kept. The caller holds the stocktake."""
    sightings = {one.pk: one for one in sightings_of(stocktake).order_by("seen_at", "id")}
    count, pieces, boxes = _count(stocktake, sightings)
    found = differences(count)
    rows = [_missing_line(stocktake, thing, pieces, boxes) for thing in found.missing]
    for kind, ids in (
        (LineKind.EXTRA, found.extra),
        (LineKind.WRONG, found.wrong),
        (LineKind.UNREADABLE, found.unreadable),
        (LineKind.UNLABELLED, found.unlabelled),
    ):
        rows += [_seen_line(stocktake, kind, sightings[pk], pieces, boxes) for pk in ids]
    for one in found.otherwise:
        row = _seen_line(stocktake, LineKind.OTHERWISE, sightings[one.sighting], pieces, boxes)
        row.match_id, row.agree, row.seen, row.listed = one.match, len(one.agree), one.seen, one.listed
        rows.append(row)
    order = list(LineKind)
    return sorted(rows, key=lambda row: order.index(LineKind(row.kind)))


def _missing_line(
    stocktake: Stocktake, thing: Thing, pieces: dict[int, Standing], boxes: dict[int, Place]
) -> StocktakeLine:
    kind, pk = thing
    if kind == "piece":
        return StocktakeLine(stocktake=stocktake, kind=LineKind.MISSING, piece_id=pk, recorded_id=pieces[pk].place_id)
    return StocktakeLine(stocktake=stocktake, kind=LineKind.MISSING, container_id=pk, recorded_id=boxes[pk].parent_id)


def _seen_line(
    stocktake: Stocktake, kind: str, one: Sighting, pieces: dict[int, Standing], boxes: dict[int, Place]
) -> StocktakeLine:
    recorded = None
    if one.piece_id in pieces:
        recorded = pieces[one.piece_id].place_id
    elif one.container_id in boxes:
        recorded = boxes[one.container_id].parent_id
    row = StocktakeLine(stocktake=stocktake, kind=kind, sighting=one, recorded_id=recorded)
    row.piece_id, row.container_id = one.piece_id, one.container_id
    return row


def _count(
    stocktake: Stocktake, sightings: dict[int, Sighting]
) -> tuple[Counted, dict[int, Standing], dict[int, Place]]:
    """Everything that the comparison needs, and the rows behind it."""
    places = {one.pk: one for one in Place.objects.all()}
    area = frozenset(tree.ids_under(stocktake.place))
    stops = {
        stop.place_id: stop.counted_at for stop in stocktake.stops.filter(counted_at__isnull=False) if stop.counted_at
    }
    # What a container holds by the record counts for matching even while the container is lost.
    seen_pieces = {one.piece_id for one in sightings.values() if one.piece_id is not None}
    lists_of = Standing.objects.filter(piece__in=seen_pieces).values("place")
    standings = {
        one.piece_id: one
        for one in Standing.objects.filter(Q(place__in=area) | Q(piece__in=seen_pieces) | Q(place__in=lists_of))
    }
    listed: dict[int, set[Thing]] = {}
    for pk, one in standings.items():
        if one.place_id is not None and places[one.place_id].is_container:
            listed.setdefault(one.place_id, set()).add(("piece", pk))
    boxes = {pk: one for pk, one in places.items() if one.is_container}
    moved = dict(
        Move.objects.filter(container__isnull=False).order_by().values_list("container").annotate(Max("recorded"))
    )
    recorded: dict[Thing, Recorded] = {
        ("piece", pk): Recorded(one.place_id, one.state in HERE, one.since) for pk, one in standings.items()
    }
    recorded |= {
        ("container", pk): Recorded(one.parent_id, one.state == State.IN_STORE, moved.get(pk))
        for pk, one in boxes.items()
    }
    count = Counted(
        seen=tuple(_seen(one) for one in sightings.values()),
        recorded=recorded,
        listed={pk: frozenset(things) for pk, things in listed.items()},
        area=area,
        expected=_expected(stops, recorded, places, area),
    )
    return count, standings, boxes


def _seen(one: Sighting) -> Seen:
    thing: Thing | None = None
    if one.piece_id is not None:
        thing = ("piece", one.piece_id)
    elif one.container_id is not None:
        thing = ("container", one.container_id)
    is_box = one.kind == SightingKind.CONTAINER
    return Seen(one.pk, one.seen_at, one.place_id, thing, is_box, one.inside_id, one.labelled)


def _expected(
    stops: dict[int, datetime], recorded: dict[Thing, Recorded], places: dict[int, Place], area: frozenset[int]
) -> dict[Thing, datetime]:
    """What is recorded on a shelf all of which was counted, at any depth of containers."""
    expected = {}
    for thing, record in recorded.items():
        if not record.here or record.place not in places or (thing[0] == "container" and thing[1] not in area):
            continue
        if thing[0] == "piece" and record.place not in area:
            continue
        shelf = _shelf_of(record.place, places)
        if shelf in stops and shelf is not None:
            expected[thing] = stops[shelf]
    return expected


def sample_result(stocktake: Stocktake, on_jobs: Collection[int] = ()) -> tuple[int, int]:
    """Of what was drawn at random: how many are missing, and how many nobody looked for. Asked when it closes.

    What was seen anywhere is not missing; what was moved on since the start, or is on a job, is accounted for.
    """
    sampled = stocktake.drawn.filter(why=StocktakeDrawn.Why.SAMPLE).values("piece")
    seen = stocktake.sightings.filter(taken_back_at__isnull=True, piece__isnull=False).values("piece")
    unseen = Standing.objects.filter(piece__in=sampled, since__lte=stocktake.started_at).exclude(piece__in=seen)
    unseen = unseen.exclude(piece__in=list(on_jobs))
    counted = set(stocktake.stops.filter(counted_at__isnull=False).values_list("place", flat=True))
    rows = list(unseen.values_list("place", flat=True))
    paths = tree.paths(pk for pk in rows if pk is not None)
    looked = [any(step.pk in counted for step in paths.get(pk or 0, []) if not step.is_container) for pk in rows]
    return sum(looked), len(looked) - sum(looked)


def what_it_bought(stocktake: Stocktake) -> str:
    """Of a sample that is closed, in a sentence, how much can be missing of what it was drawn from; else nothing."""
    missing, drawn, of = stocktake.sample_missing, stocktake.sample_size, stocktake.drawn_from
    if missing is None or drawn is None or of is None:
        return ""
    if stocktake.sample_left:
        left = stocktake.sample_left
        verb = "was" if left == 1 else "were"
        return f"{left} of the {drawn} drawn at random {verb} not looked for, so the sample says nothing of the rest."
    verb = "is" if missing == 1 else "are"
    return f"{missing or 'None'} of the {drawn} drawn at random {verb} missing: {sampling.bought(missing, drawn, of)}."


def not_counted(stocktake: Stocktake) -> list[Stop]:
    """Places at which nobody said that all was counted."""
    return [stop for stop in stops_of(stocktake) if stop.counted_at is None]


def lines_of(stocktake: Stocktake) -> list[StocktakeLine]:
    """What came of it, with all that its page names. A fixed number of queries."""
    return list(
        stocktake.lines.select_related(
            "piece__standing__home",
            "piece__standing__place",
            "container__home",
            "container__parent",
            "sighting__place",
            "sighting__inside__container",
            "sighting__container",
            "sighting__piece",
            "recorded",
            "match__home",
            "resolved_by",
        )
    )


def spot_of(sighting: Sighting, really: dict[int, Place]) -> Place:
    """The container or shelf in which it was seen; `really` names containers that proved to be another."""
    box = sighting.inside
    if box is None:
        return sighting.place
    return really.get(box.pk) or box.container or sighting.place


def proved(stocktake: Stocktake) -> dict[int, Place]:
    """By sighting, what a container really is, where that was said."""
    lines = stocktake.lines.filter(kind=LineKind.OTHERWISE, resolved_at__isnull=False, container=F("match"))
    return {line.sighting_id: line.match for line in lines.select_related("match") if line.sighting_id and line.match}


def contents_of(line: StocktakeLine) -> tuple[list[Piece], list[Piece], list[Sighting]]:
    """Of a container that is another: what is on its list and was seen in it, what was not, and what else was."""
    seen = [one for one in sightings_of(line.stocktake) if one.inside_id == line.sighting_id]
    ids = {one.piece_id for one in seen if one.piece_id is not None}
    listed = list(Piece.objects.filter(standing__place=line.match).order_by("number"))
    on_list = {piece.pk for piece in listed}
    rest = [one for one in seen if one.piece_id not in on_list]
    return [p for p in listed if p.pk in ids], [p for p in listed if p.pk not in ids], rest


def stop_codes(stocktake: Stocktake) -> dict[str, str]:
    """What reads as one of the places to go to, its own code or a label of it, and which it is. Two queries."""
    places = dict(stocktake.stops.values_list("place", "place__code"))
    labels = Label.objects.filter(place__in=places).values_list("code", "place")
    return {code.upper(): code for code in places.values()} | {code: places[pk] for code, pk in labels if pk}


def way_to(place: Place) -> str:
    """ "Work Room, bench 4": the way to a place, without the site."""
    steps = [step for step in tree.path(place) if step.kind != PlaceKind.SITE]
    return ", ".join(tree.names(steps))
