"""Counting: start, see, take back, a place is done, close. What came of it is resolved in stocktake_resolving.py."""

import secrets
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import clock, house
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import alone
from catalog.pieces.models import Piece
from catalog.storage import standing as shared
from catalog.storage import stocktake_queries as queries
from catalog.storage.calc import sampling
from catalog.storage.models import Place, Sighting, Standing, Stocktake, StocktakeDrawn, StocktakeLine, StocktakeStop
from catalog.storage.standing import Telling
from catalog.storage.stocktake_models import LineKind, SightingKind, StocktakeDraw


def start_stocktake(*, by: User, place: Place, draw: str, sample_size: int | None = None, seed: str = "") -> Stocktake:
    """Draw what is to be counted and begin. A seed given is used, so that a draw can be repeated; else one is made.

    Raises Refused when there is nothing to count, WrongState while the place is being counted already.
    """
    require(by, Ability.TAKE_STOCK)
    if place.is_container and place.parent is None:
        raise Refused(f"{place.code} stands nowhere: it is to be found first.", field="place")
    with transaction.atomic():
        alone("stocktake")
        if Stocktake.objects.filter(place=place, closed_at__isnull=True).exists():
            raise WrongState(f"{place.code} is being counted already: close that stocktake first.", field="place")
        row = Stocktake(reference=_next_reference(), place=place, draw=draw, started_by=by)
        drawn = _draw(row, sample_size, seed) if draw == StocktakeDraw.SAMPLE else []
        keep(row)
        for one in drawn:
            one.stocktake = row
        StocktakeDrawn.objects.bulk_create(drawn)
        stops = queries.stops_to_make(place, [one.piece_id for one in drawn] if drawn else None)
        if not stops:
            raise Refused(f"There is nothing to count in {place.code}.", field="place")
        StocktakeStop.objects.bulk_create(StocktakeStop(stocktake=row, place=stop) for stop in stops)
        told = {"place": place, "draw": draw, "places": len(stops), "drawn": len(drawn) or None}
        told |= {"sample": row.sample_size, "from": row.drawn_from, "seed": row.seed or None}
        record(by, "started", row.subject, after={key: value for key, value in told.items() if value is not None})
    return row


def _draw(row: Stocktake, size: int | None, seed: str) -> list[StocktakeDrawn]:
    """All of high value, and so many of the others at random."""
    if size is None or size < 0:
        raise Refused("Say how many of the other pieces are drawn.", field="sample_size")
    row.high_value, row.currency = int(house.value("stocktake.high_value")), str(house.value("house.currency"))
    frame = queries.frame(row.place, row.high_value, row.currency)
    row.seed = seed or secrets.token_hex(8)
    row.drawn_from, row.sample_size = len(frame.others), min(size, len(frame.others))
    chosen = sampling.draw(frame.others, row.sample_size, row.seed)
    if not frame.high and not chosen:
        raise Refused(
            f"Nothing was drawn: no piece of {row.place.code} is of high value. Draw some.", field="sample_size"
        )
    ids = frame.others | frame.high
    why = StocktakeDrawn.Why
    return [
        *(StocktakeDrawn(piece_id=ids[number], why=why.HIGH) for number in sorted(frame.high)),
        *(StocktakeDrawn(piece_id=ids[number], why=why.SAMPLE) for number in chosen),
    ]


@dataclass(frozen=True, slots=True)
class Spot:
    """Where the counter stands: the shelf, and the container that is open on it."""

    place: Place
    inside: Sighting | None = None


def see(
    *,
    by: User,
    stocktake: Stocktake,
    at: Spot,
    client_id: UUID,
    piece: Piece | None = None,
    container: Place | None = None,
    reads: str = "",
    words: str = "",
    is_container: bool = False,
    seen_at: datetime | None = None,
) -> Sighting:
    """One thing was seen: a piece, a container, one whose label `reads` so and leads nowhere, or one without a label.

    It counts as a dated sighting at once; where the record has it does not change. A repeated client id gives the
    earlier sighting back. Raises WrongState once the stocktake is closed, Refused for a place that is not in it.
    """
    require(by, Ability.MOVE)
    refuse_unless_past(seen_at=seen_at)
    telling = Telling(by, f"stocktake {stocktake.reference}", seen_at)
    with transaction.atomic():
        stocktake = _open(stocktake)
        earlier = Sighting.objects.filter(client_id=client_id).first()
        if earlier is not None:
            return _same(earlier, stocktake, piece, container)
        _refuse_elsewhere(stocktake, at)
        one = Sighting(stocktake=stocktake, place=at.place, inside=at.inside, by=by, by_name=telling.who)
        one.seen_at, one.client_id = telling.when, client_id
        one.piece, one.container = piece, container
        one.kind = _kind(piece, container, is_container)
        one.text, one.labelled = " ".join((reads or words).split()), not words
        if one.kind == SightingKind.CONTAINER:
            one.inside = _room_for(container, at.inside)
        keep(one)
        _date_sighting(one, telling)
    return one


def take_back(*, by: User, sighting: Sighting) -> Sighting:
    """The last scan was a mistake: it counts for nothing from now on, and the line that says so stays.

    Raises WrongState when the stocktake is closed, when it was taken back already, or while things were seen in it.
    """
    require(by, Ability.MOVE)
    with transaction.atomic():
        stocktake = _open(sighting.stocktake)
        one = Sighting.objects.select_for_update(no_key=True, of=("self",)).get(pk=sighting.pk)
        if one.taken_back_at is not None:
            raise WrongState("This was taken back already.")
        if one.contents.filter(taken_back_at__isnull=True).exists():
            raise WrongState(f"Things were counted in {one.words}: take those back first.")
        one.taken_back_at = clock.now()
        keep(one)
        thing = one.piece or one.container
        subject = thing.subject if thing is not None else stocktake.subject
        before = {"seen": f"{one.words} at {one.place.code}"}
        record(by, "sighting taken back", subject, before=before, after={"seen": None}, reason=f"stocktake {stocktake}")
    return one


def count_stop(
    *, by: User, stocktake: Stocktake, place: Place, counted: bool = True, counted_at: datetime | None = None
) -> StocktakeStop:
    """Everything at this place was counted, or (`counted=False`) not yet. Raises Refused for a place not in it.

    `counted_at` is when that was said; what is moved there later was not there to be counted.
    """
    require(by, Ability.MOVE)
    refuse_unless_past(counted_at=counted_at)
    with transaction.atomic():
        stocktake = _open(stocktake)
        stop = StocktakeStop.objects.select_for_update(no_key=True).filter(stocktake=stocktake, place=place).first()
        if stop is None:
            raise Refused(f"{place.code} is not part of this stocktake.")
        if counted != (stop.counted_at is not None):
            stop.counted_at, stop.counted_by = (counted_at or clock.now(), by) if counted else (None, None)
            keep(stop)
            verb = "counted" if counted else "counted again"
            record(by, verb, stocktake.subject, after={"counted": place}, happened=counted_at)
    return stop


def close_stocktake(*, by: User, stocktake: Stocktake, on_jobs: Collection[int] = ()) -> Stocktake:
    """End the count and keep what came of it, a line a difference. What was not counted is not judged.

    `on_jobs`: ids of pieces that a job has taken from their place; unseen, they are not missing.

    Raises WrongState when it is closed already, or before any place was counted.
    """
    require(by, Ability.TAKE_STOCK)
    with transaction.atomic():
        stocktake = _open(stocktake)
        if not stocktake.stops.filter(counted_at__isnull=False).exists():
            raise WrongState("No place is counted yet: say of one place that all of it is counted.")
        stocktake.closed_at, stocktake.closed_by = clock.now(), by
        if stocktake.draw == StocktakeDraw.SAMPLE:
            stocktake.sample_missing, stocktake.sample_left = queries.sample_result(stocktake, on_jobs)
        keep(stocktake)
        found = queries.lines_of_count(stocktake)
        lines = [line for line in found if not _is_on_a_job(line, on_jobs)]
        for line in lines:
            keep(line)
        away = sorted(str(line.piece) for line in found if _is_on_a_job(line, on_jobs))
        record(by, "closed", stocktake.subject, after={"differences": _tally(lines), "on_a_job": away})
    return stocktake


def _is_on_a_job(line: StocktakeLine, on_jobs: Collection[int]) -> bool:
    return line.kind == LineKind.MISSING and line.piece_id in on_jobs


def _tally(lines: Sequence[StocktakeLine]) -> list[str]:
    """ "3 missing here", for the line of history."""
    counts = {kind: sum(line.kind == kind for line in lines) for kind in LineKind}
    return [f"{number} {kind.label}" for kind, number in counts.items() if number] or ["none"]


def _open(stocktake: Stocktake) -> Stocktake:
    """The stocktake with its row held, so that nothing is counted while it closes."""
    row = Stocktake.objects.select_for_update(no_key=True, of=("self",)).select_related("place").get(pk=stocktake.pk)
    if row.closed_at is not None:
        raise WrongState(f"{row.reference} is closed: start another stocktake.")
    return row


def _same(earlier: Sighting, stocktake: Stocktake, piece: Piece | None, container: Place | None) -> Sighting:
    told: tuple[Any, ...] = (stocktake.pk, getattr(piece, "pk", None), getattr(container, "pk", None))
    if (earlier.stocktake_id, earlier.piece_id, earlier.container_id) != told:
        raise Refused("This scan was already kept for another thing: scan again.")
    return earlier


def _refuse_elsewhere(stocktake: Stocktake, at: Spot) -> None:
    if not stocktake.stops.filter(place=at.place).exists():
        raise Refused(f"{at.place.code} is not part of this stocktake.", field="code")
    box = at.inside
    if box is None:
        return
    if box.stocktake_id != stocktake.pk or box.place_id != at.place.pk or box.kind != SightingKind.CONTAINER:
        raise Refused("That container was not seen here: scan it again.", field="code")
    if Sighting.objects.filter(pk=box.pk, taken_back_at__isnull=False).exists():
        raise Refused(f"{box.words} was taken back: scan it again.", field="code")


def _kind(piece: Piece | None, container: Place | None, is_container: bool) -> str:
    if container is not None and not container.is_container:
        raise Refused(f"{container.code} is a {container.get_kind_display()}: it is counted in, not counted.")
    if container is not None or (is_container and piece is None):
        return SightingKind.CONTAINER
    return SightingKind.THING if piece is None else SightingKind.PIECE


def _room_for(container: Place | None, inside: Sighting | None) -> Sighting | None:
    """A box may lie in a trunk; no trunk lies in another, so the next trunk stands on the shelf."""
    if inside is None or container is None or container.kind != Place.Kind.BOX:
        return None
    held = inside.container
    return None if held is not None and (held.kind == Place.Kind.BOX or held.pk == container.pk) else inside


def _date_sighting(one: Sighting, telling: Telling) -> None:
    """The thing was seen on this day; its history says where. A thing nobody can name is told of the stocktake."""
    where = f"{one.inside.words} at {one.place.code}" if one.inside is not None else one.place.code
    if one.piece is not None:
        standing = shared.standing_to_change(one.piece)
        _date(standing, telling)
        _tell(one, telling, one.piece, {"seen": where})
    elif one.container is not None:
        _date(shared.container_to_change(one.container), telling)
        _tell(one, telling, one.container, {"seen": where})
    else:
        what = f"container whose label reads {one.text}" if one.kind == SightingKind.CONTAINER else one.text
        told = {"seen": f"{what} at {where}"}
        record(telling.by, "seen", one.stocktake.subject, after=told, happened=telling.happened)


def _date(thing: Standing | Place | None, telling: Telling) -> None:
    if thing is not None:
        shared.saw(thing, telling)
        keep(thing)


def _tell(one: Sighting, telling: Telling, thing: Piece | Place, told: dict[str, str]) -> None:
    record(
        telling.by,
        "seen",
        thing.subject,
        after=told,
        reason=telling.reason,
        happened=telling.happened,
        client_id=one.client_id,
    )


def _next_reference() -> str:
    """ST, the year, and the next number of the year; the caller holds the serials alone."""
    year = clock.today().year
    start = f"ST-{year}-"
    taken = Stocktake.objects.filter(reference__startswith=start).values_list("reference", flat=True)
    last = max((int(reference.removeprefix(start)) for reference in taken), default=0)
    return f"{start}{last + 1:02d}"
