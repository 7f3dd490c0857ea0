"""What a scanning device sends: one put at a time, each with an id of its own, so that a repeated send adds nothing.

A scan made with a signal is answered at once: done, or why not. A scan that waited for a signal and meets something it
did not know of is kept, and somebody decides; it is never settled silently.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import clock
from catalog.core.checks import keep
from catalog.core.errors import CatalogError, Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import alone
from catalog.pieces.models import Piece
from catalog.storage import readings
from catalog.storage import standing as shared
from catalog.storage.found_actions import move_found
from catalog.storage.missing_models import FoundThing
from catalog.storage.models import Move, Place
from catalog.storage.move_actions import move_container, move_piece
from catalog.storage.readings import Reading
from catalog.storage.scan_models import KeptScan
from catalog.storage.undo_actions import undo_move

Result = Literal["done", "refused", "kept"]
LONGEST = 120
_TAKEN_BACK = "taken back by who scanned it"


@dataclass(frozen=True, slots=True)
class Scan:
    """One thing put at one place, as the device read it. `waited` is a scan that could not be sent at once."""

    client_id: UUID
    thing: str
    to: str
    reason: str = ""
    happened: datetime | None = None
    waited: bool = False


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a scan. Repeated, the same scan has the same outcome."""

    result: Result
    sentence: str
    move: Move | None = None
    kept: KeptScan | None = None
    reading: Reading | None = None
    slot: str = ""


def put_scanned(*, by: User, scan: Scan, claimed: Callable[[Piece], str] | None = None) -> Outcome:
    """Put what was scanned where it was put. Raises NotAllowed only: any other no is an outcome.

    `claimed` says in a sentence what a higher room has done with a piece; a scan that waited yields to it.
    """
    require(by, Ability.MOVE)
    with transaction.atomic():
        alone(f"scan {scan.client_id}")
        if (earlier := _answered_before(by, scan.client_id)) is not None:
            return earlier
        thing, to = readings.read(scan.thing[:LONGEST], by), readings.read(scan.to[:LONGEST], by)
        wrong = _unreadable(thing, to) or _claim(scan, thing, claimed)
        if wrong is None:
            try:
                if thing.found is not None and to.place is not None:
                    return _move_found(by, scan, thing.found, to.place)
                return _done(_move(by, scan, thing, to))
            except CatalogError as error:
                wrong = Outcome("refused", str(error), slot="to" if error.field == "to" else "thing")
        return _keep_scan(by, scan, thing, to, wrong.sentence) if scan.waited else wrong


def undo_scanned(*, by: User, undoes: UUID, client_id: UUID, happened: datetime | None = None) -> Outcome:
    """Take back the scan of that id: its move is moved back, a kept scan is dropped."""
    require(by, Ability.MOVE)
    with transaction.atomic():
        alone(f"scan {undoes}")
        kept = KeptScan.objects.filter(client_id=undoes, by=by).first()
        move = Move.objects.select_related("piece", "container", "from_place", "to_place").filter(client_id=undoes)
        found = move.first()
        try:
            if kept is not None and (not kept.decision or kept.decided_why == _TAKEN_BACK):
                if not kept.decision:
                    drop_scan(by=by, kept=kept, why=_TAKEN_BACK)
                return Outcome("done", f"{kept} is taken back: nothing was moved.", kept=kept)
            if found is None:
                return Outcome(
                    "refused",
                    "Nothing to take back: that scan moved no piece or trunk. Scan a found thing back itself.",
                )
            return _undone(undo_move(by=by, move=found, client_id=client_id, happened=happened))
        except CatalogError as error:
            return Outcome("refused", str(error), move=found)


def carry_out(*, by: User, kept: KeptScan, thing: Piece | Place, to: Place, why: str = "") -> Move:
    """Decide that it really is there: the thing is moved there now. Raises what a move raises."""
    require(by, Ability.MOVE)
    with transaction.atomic():
        kept = _to_decide(kept)
        reason, who = _told(kept, why), kept.by_name if by.pk == kept.by_id else ""
        facts: dict[str, Any] = {"by": by, "to": to, "reason": reason, "client_id": kept.client_id, "by_name": who}
        if isinstance(thing, Piece):
            move = move_piece(piece=thing, **facts)
        else:
            move = move_container(container=thing, **facts)
        _decide(kept, by, KeptScan.Decision.PUT, why, move)
    return move


def note_scan(*, by: User, kept: KeptScan, why: str = "") -> Move:
    """Decide that it was there then and is elsewhere now: a dated sighting in the past; the present stays.

    Raises WrongState when what was scanned could not be read, or when nothing newer is known of it.
    """
    require(by, Ability.MOVE)
    with transaction.atomic():
        kept = _to_decide(kept)
        thing, to = kept.piece or kept.container, kept.to_place
        if thing is None or to is None:
            raise WrongState("What was scanned could not be read: say what it was, or drop it.")
        if isinstance(thing, Piece):
            shared.standing_to_change(thing)
            of: dict[str, Any] = {"piece": thing}
        else:
            alone("tree")
            of = {"container": shared.container_to_change(thing)}
        if not Move.objects.filter(happened__gt=kept.happened, **of).exists():
            raise WrongState(f"{thing} has not been moved since: put it there now, or drop the scan.")
        telling = shared.Telling(by, _told(kept, why), kept.happened, kept.client_id, kept.by_name)
        move = shared.keep_old_move(telling, to, **of)
        _decide(kept, by, KeptScan.Decision.PAST, why, move)
    return move


def drop_scan(*, by: User, kept: KeptScan, why: str) -> KeptScan:
    """Decide that the scan was a mistake: nothing is moved, who dropped it and why is kept."""
    require(by, Ability.MOVE)
    if not why.strip():
        raise Refused("Say why the scan is dropped.", field="why")
    with transaction.atomic():
        kept = _to_decide(kept)
        _decide(kept, by, KeptScan.Decision.DROPPED, why, None)
        thing = kept.piece or kept.container
        if thing is not None:
            record(
                by,
                "scan dropped",
                thing.subject,
                reason=f"scanned to {kept.to_place or kept.to_text} by {kept.by_name}: {why}"[:300],
                client_id=kept.client_id,
            )
    return kept


def _answered_before(by: User, client_id: UUID) -> Outcome | None:
    rows = Move.objects.select_related("piece", "container", "from_place", "to_place", "undoes")
    move = rows.filter(client_id=client_id).first()
    kept = KeptScan.objects.select_related("piece", "container", "to_place").filter(client_id=client_id).first()
    if kept is not None:
        return _kept(kept) if kept.by_id == by.pk else _not_yours()
    if move is None:
        return None
    if move.by_id != by.pk:
        return _not_yours()
    return _done(move) if move.undoes is None else _undone(move)


def _not_yours() -> Outcome:
    return Outcome("refused", "This scan was already kept for somebody else: scan again.")


def _unreadable(thing: Reading, to: Reading) -> Outcome | None:
    """Why one of the two cannot be used, with the slot it belongs to; or None."""
    for slot, reading in (("thing", thing), ("to", to)):
        if said := readings.unfit_for(reading, slot):
            return Outcome("refused", said, reading=reading, slot=slot)
    return None


def _claim(scan: Scan, thing: Reading, claimed: Callable[[Piece], str] | None) -> Outcome | None:
    """Asked with the piece held, so that nobody takes it between the question and the move."""
    if not scan.waited or thing.piece is None or claimed is None:
        return None
    shared.standing_to_change(thing.piece)
    said = claimed(thing.piece)
    return Outcome("refused", said, slot="thing") if said else None


def _move(by: User, scan: Scan, thing: Reading, to: Reading) -> Move:
    facts: dict[str, Any] = {
        "by": by,
        "to": to.place,
        "reason": scan.reason,
        "happened": scan.happened,
        "client_id": scan.client_id,
        "only_news": scan.waited,
    }
    if thing.piece is not None:
        return move_piece(piece=thing.piece, **facts)
    assert thing.place is not None  # noqa: S101 - _unreadable has refused what is neither
    return move_container(container=thing.place, **facts)


def _move_found(by: User, scan: Scan, found: FoundThing, to: Place) -> Outcome:
    """A found thing has no move of its own: a repeated scan finds it there already."""
    move_found(by=by, found=found, to=to, note=scan.reason, happened=scan.happened)
    return Outcome("done", f"{found.number}, found without a label, is now at {to}.")


def _done(move: Move) -> Outcome:
    name = str(move.piece or move.container)
    if move.from_place_id == move.to_place_id:
        return Outcome("done", f"{name} was at {move.to_place} already: seen there.", move=move)
    was = f" It was at {move.from_place}." if move.from_place else ""
    return Outcome("done", f"{name} is now at {move.to_place}.{was}", move=move)


def _undone(move: Move) -> Outcome:
    return Outcome("done", f"{move.piece or move.container} is taken back: it is at {move.to_place} again.", move=move)


def _kept(kept: KeptScan) -> Outcome:
    return Outcome("kept", f"{kept} waits for a decision: {kept.why}", kept=kept)


def _keep_scan(by: User, scan: Scan, thing: Reading, to: Reading, why: str) -> Outcome:
    container = thing.place if thing.place is not None and thing.place.is_container else None
    kept = KeptScan(
        client_id=scan.client_id,
        thing_text=scan.thing[:LONGEST],
        to_text=scan.to[:LONGEST],
        piece=thing.piece,
        container=container,
        to_place=to.place,
        reason=scan.reason,
        why=why[:400],
        happened=scan.happened or clock.now(),
        by=by,
        by_name=str(by),
    )
    keep(kept)
    return _kept(kept)


def _to_decide(kept: KeptScan) -> KeptScan:
    """The scan with its row held; raises WrongState when somebody has decided already."""
    now = KeptScan.objects.select_for_update(no_key=True, of=("self",)).get(pk=kept.pk)
    if now.decision:
        raise WrongState(f"{now.decided_by} has decided already: {now.get_decision_display()}.")
    return now


def _decide(kept: KeptScan, by: User, decision: str, why: str, move: Move | None) -> None:
    kept.decision, kept.decided, kept.decided_by = decision, clock.now(), by
    kept.decided_why, kept.move = why.strip()[:200], move
    keep(kept)


def _told(kept: KeptScan, why: str) -> str:
    """The scan's own reason first, so that moves of one cause stay together; then when it was scanned, and why so."""
    at = timezone.localtime(kept.happened)
    return " ".join(filter(None, (kept.reason, f"(scanned {at:%-d %b %Y, %H:%M})", why.strip())))[:200]
