"""What came of a count, settled line by line: each act is an action elsewhere; here the line is closed too."""

from collections.abc import Collection, Iterator
from contextlib import contextmanager

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import clock
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import lock_rows
from catalog.pieces.models import Piece
from catalog.storage import stocktake_queries as queries
from catalog.storage.found_actions import take_in_found
from catalog.storage.label_actions import bind_label, replace_label
from catalog.storage.missing_actions import mark_found, mark_missing
from catalog.storage.missing_models import FoundThing
from catalog.storage.models import Label, Place, Sighting, Standing, State, StocktakeLine
from catalog.storage.move_actions import move_container, move_piece
from catalog.storage.stocktake_models import LineKind, SightingKind

MOVED = (LineKind.EXTRA, LineKind.WRONG)
UNREAD = (LineKind.UNREADABLE, LineKind.UNLABELLED)


def settle_missing(*, by: User, line: StocktakeLine) -> StocktakeLine:
    """It is missing: its file is opened. Raises WrongState if it is looked for already or the line is settled."""
    with _settling(by, line, (LineKind.MISSING,)) as row:
        note = f"not seen at stocktake {row.stocktake.reference}"
        if row.piece is not None:
            mark_missing(by=by, piece=row.piece, note=note)
        else:
            mark_missing(by=by, container=row.container, note=note)
        row.outcome = "missing file opened"
    return row


def settle_seen_after_all(*, by: User, line: StocktakeLine) -> StocktakeLine:
    """On a second look it stands where it is recorded: that is a sighting of today."""
    with _settling(by, line, (LineKind.MISSING,)) as row:
        place = row.recorded
        if place is None:
            raise WrongState("Where it stood is not recorded: scan it where it is.")
        _put(by, row, place, "seen on a second look")
        row.outcome = f"seen after all at {place.code}"
    return row


def settle_here(*, by: User, line: StocktakeLine) -> StocktakeLine:
    """It stays where it was seen: the record follows. What was not found is found there."""
    with _settling(by, line, MOVED) as row:
        place = _seen_at(row)
        _put(by, row, place, "found there")
        row.outcome = f"recorded at {place.code}, where it was seen"
    return row


def settle_back(*, by: User, line: StocktakeLine) -> StocktakeLine:
    """It was carried back to where it belongs: home if it has one, else where it was recorded."""
    with _settling(by, line, MOVED) as row:
        place = belongs(row)
        if place is None:
            raise Refused("It has no home and no recorded place: leave it where it was seen.")
        _put(by, row, place, "put back")
        row.outcome = f"put back at {place.code}"
    return row


def settle_label(
    *, by: User, line: StocktakeLine, piece: Piece | None = None, container: Place | None = None, blank: str = ""
) -> Label:
    """What could not be read is this piece or container: it gets a label, the blank that was stuck on or a new one.

    It was seen, so it is no longer missing here. Raises Refused when nothing or a shelf is named.
    """
    thing = piece or container
    if thing is None or (container is not None and not container.is_container):
        raise Refused("Say which piece or trunk it is.", field="thing")
    with _settling(by, line, UNREAD) as row:
        if blank:
            label = bind_label(by=by, code=blank, piece=piece, place=container)
        else:
            why = f"could not be read at stocktake {row.stocktake.reference}"
            label = replace_label(by=by, piece=piece, place=container, reason=why)
        place = _seen_at(row)
        row.piece, row.container = piece, container
        _put(by, row, place, "its label could not be read")
        row.outcome = f"it is {thing}: label {label.code}, at {place.code}"
        _no_longer_missing(by, row)
    return label


def settle_as_found(*, by: User, line: StocktakeLine, kind: str, name: str) -> FoundThing:
    """Nobody knows what it is: it gets a temporary number where it was seen, and is compared with what is missing.

    Raises Refused for a container, which is named or bound to a blank instead.
    """
    with _settling(by, line, UNREAD) as row:
        if row.sighting is None or row.sighting.kind == SightingKind.CONTAINER:
            raise Refused("A trunk or box is not taken in as a found thing: say which one it is.", field="name")
        seen = row.sighting
        found = take_in_found(
            by=by,
            name=name,
            kind=kind,
            place=_seen_at(row),
            note=f"stocktake {row.stocktake.reference}: {seen.words}",
            happened=seen.seen_at,
            by_name=seen.by_name,
        )
        row.outcome = f"taken in as {found.number}, {found.name}"[:300]
    return found


def settle_really(*, by: User, line: StocktakeLine, counted: Collection[Piece], new_label: bool) -> StocktakeLine:
    """The container is really the other one: found where it was seen, with the pieces that were counted in it.

    One act: it and its content stand there, whatever of its list was not counted is looked for by itself, and with
    `new_label` its label is made anew (an old one still leads to it).
    """
    with _settling(by, line, (LineKind.OTHERWISE,)) as row:
        match, place = row.match, _seen_at(row)
        if match is None:
            raise WrongState("No other container's list agrees with it.")
        note = f"stocktake {row.stocktake.reference}: its label read {row.sighting.words}" if row.sighting else ""
        if match.state == State.NOT_FOUND:
            mark_found(by=by, container=match, at=place, note=note, counted=counted)
        else:
            move_container(by=by, container=match, to=place, reason=note)
            lock_rows(Piece.objects.filter(pk__in=[piece.pk for piece in counted]))
            for piece in counted:
                move_piece(by=by, piece=piece, to=match, reason=note)
        row.outcome = f"it is really {match.code}, with {len(counted)} counted in it"
        if new_label:
            label = replace_label(by=by, place=match, reason=note)
            row.outcome += f"; label {label.code} made"
        row.container = match
        _no_longer_missing(by, row, pieces=counted)
    return row


def settle_otherwise(*, by: User, line: StocktakeLine, why: str) -> StocktakeLine:
    """Nothing is changed, for a reason that is said. Raises Refused without one."""
    why = " ".join(why.split())
    if not why:
        raise Refused("Say why nothing is to be changed.", field="why")
    with _settling(by, line, tuple(LineKind)) as row:
        row.outcome = f"left as it is: {why}"[:300]
    return row


def belongs(line: StocktakeLine) -> Place | None:
    """Where the thing of this line belongs: home if it has one, else where it was recorded."""
    if line.container is not None:
        return line.container.home or line.recorded
    standing = Standing.objects.select_related("home").filter(piece=line.piece).first()
    return (standing.home if standing is not None else None) or line.recorded


@contextmanager
def _settling(by: User, line: StocktakeLine, kinds: tuple[str, ...]) -> Iterator[StocktakeLine]:
    """The line, held; what was done is written when the act is over."""
    require(by, Ability.TAKE_STOCK)
    with transaction.atomic():
        row = StocktakeLine.objects.select_for_update(no_key=True, of=("self",)).get(pk=line.pk)
        if row.resolved_at is not None:
            raise WrongState("This line was settled already.")
        if row.kind not in kinds:
            raise WrongState(f"That is no answer to a line of {row.get_kind_display()}.")
        yield row
        _close(by, row)


def _close(by: User, row: StocktakeLine) -> None:
    row.resolved_at, row.resolved_by = clock.now(), by
    keep(row)
    thing = row.piece or row.container or row.sighting
    told = {"settled": f"{row.get_kind_display()}, {thing}: {row.outcome}"}
    record(by, "settled", row.stocktake.subject, after=told)


def _seen_at(row: StocktakeLine) -> Place:
    if row.sighting is None:
        raise WrongState("It was not seen.")
    return queries.spot_of(row.sighting, queries.proved(row.stocktake))


def _put(by: User, row: StocktakeLine, place: Place, how: str) -> None:
    """It stands there: moved, or found if it was not found."""
    reason = f"stocktake {row.stocktake.reference}: {how}"
    if row.piece is not None:
        standing = Standing.objects.filter(piece=row.piece).first()
        if standing is not None and standing.state == State.NOT_FOUND:
            mark_found(by=by, piece=row.piece, at=place, note=reason)
        else:
            move_piece(by=by, piece=row.piece, to=place, reason=reason)
    elif row.container is not None:
        if row.container.state == State.NOT_FOUND:
            mark_found(by=by, container=row.container, at=place, note=reason, counted=_seen_inside(row))
        else:
            move_container(by=by, container=row.container, to=place, reason=reason)


def _seen_inside(row: StocktakeLine) -> list[Piece]:
    """The pieces that were seen in the container of this line."""
    inside = Sighting.objects.filter(inside=row.sighting, taken_back_at__isnull=True, piece__isnull=False)
    return list(Piece.objects.filter(pk__in=inside.values("piece")))


def _no_longer_missing(by: User, row: StocktakeLine, pieces: Collection[Piece] = ()) -> None:
    """Lines that said missing of what has now been seen are settled with it."""
    lines = row.stocktake.lines.filter(kind=LineKind.MISSING, resolved_at__isnull=True)
    ids = {piece.pk for piece in pieces} | ({row.piece_id} if row.piece_id else set())
    for line in lines.select_for_update(no_key=True, of=("self",)):
        if line.piece_id in ids or (row.container_id is not None and line.container_id == row.container_id):
            line.outcome = f"seen: {row.outcome}"[:300]
            _close(by, line)
