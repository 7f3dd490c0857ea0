"""What turned up without a label gets a temporary number; it is merged with a piece only when somebody says yes."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.actions import open_quarantine
from catalog.core.checks import keep
from catalog.core.clock import now
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import alone, lock_rows
from catalog.core.models import File
from catalog.core.pictures import store_picture
from catalog.pieces.calc.kinds import KINDS, POINTS, impossible
from catalog.pieces.calc.numbers import TEMPORARY
from catalog.pieces.models import Part, Piece, Production
from catalog.pieces.production_actions import materials_named
from catalog.storage import standing as shared
from catalog.storage import tree
from catalog.storage.missing_actions import mark_found
from catalog.storage.missing_models import FoundMeasure, FoundPicture, FoundState, FoundThing
from catalog.storage.models import Place, PlaceKind, State
from catalog.storage.move_actions import receive_piece
from catalog.storage.receiving_models import Receipt
from catalog.storage.standing import Telling


def take_in_found(
    *,
    by: User,
    name: str,
    kind: str,
    place: Place,
    production: Production | None = None,
    materials: Iterable[str] = (),
    size_mark: str = "",
    weight_g: int | None = None,
    note: str = "",
    picture: bytes | None = None,
    happened: datetime | None = None,
    by_name: str = "",
) -> FoundThing:
    """A found thing under the next temporary number. Raises Refused for a kind or a place that cannot be."""
    require(by, Ability.MOVE)
    telling = Telling(by, note, happened, None, by_name)
    if kind not in KINDS:
        raise Refused(f"“{kind}” is no kind of piece.", field="kind")
    if any(step.kind == PlaceKind.AWAY or step.state != State.IN_STORE for step in tree.path(place)):
        raise Refused(f"{place.code} is not in the store: name the place where it lies now.", field="place")
    with transaction.atomic():
        alone("found things")
        found = FoundThing(
            number=_next_number(),
            name=" ".join(name.split()),
            kind=kind,
            production=production,
            size_mark=size_mark.strip(),
            weight_g=weight_g,
            place=place,
            happened=telling.when,
            by=by,
            by_name=telling.who,
            note=note.strip(),
        )
        keep(found)
        named = materials_named(materials)
        found.materials.set(named)
        facts: dict[str, Any] = {"name": found.name, "kind": kind, "production": production, "place": place}
        facts |= {"materials": sorted(row.name for row in named), "weight_g": weight_g, "size_mark": found.size_mark}
        after = {key: value for key, value in facts.items() if value not in (None, "", [])}
        record(by, "found", found.subject, after=after, reason=note, happened=happened, by_name=by_name)
        if picture is not None:
            add_found_picture(by=by, found=found, data=picture)
    return found


def add_found_picture(*, by: User, found: FoundThing, data: bytes) -> FoundPicture:
    """One more picture; it is compared with the pictures of what is missing. Only staff may see it."""
    require(by, Ability.MOVE)
    with transaction.atomic():
        file = store_picture(by=by, data=data, seen_by=File.SeenBy.STAFF)
        if found.pictures.filter(file=file).exists():
            raise Refused("It has this picture already.", field="picture")
        row = keep(FoundPicture(found=found, file=file))
        record(by, "picture added", found.subject, after={"picture": file.sha256[:12]})
    return row


def measure_found(*, by: User, found: FoundThing, values_mm: Mapping[str, int]) -> None:
    """Set measures of a found thing; a point that is not named stays. Raises Refused for what cannot be true."""
    require(by, Ability.MOVE)
    for point, value in values_mm.items():
        if point not in POINTS:
            raise Refused(f"“{point}” is no point to measure.", field=f"m_{point}")
        if wrong := impossible(point, value):
            raise Refused(wrong, field=f"m_{point}")
    with transaction.atomic():
        before = {row.point: row for row in found.measures.all()}
        changed = {point: value for point, value in values_mm.items() if _value(before.get(point)) != value}
        for point, value in changed.items():
            row = before.get(point) or FoundMeasure(found=found, point=point)
            row.value_mm = value
            keep(row)
        if changed:
            record(by, "measured", found.subject, after={"measure": changed})


def move_found(
    *, by: User, found: FoundThing, to: Place, note: str = "", happened: datetime | None = None, by_name: str = ""
) -> FoundThing:
    """It lies there now; where it lies already nothing is written. Its number stays its own, for ever.

    Raises WrongState when it is known already, or when nothing, or not what is in quarantine, may be put there.
    """
    require(by, Ability.MOVE)
    with transaction.atomic():
        found = _open_thing(found)
        apart = Receipt.objects.filter(lines__found=found, quarantine_due__isnull=False, released_on__isnull=True)
        shared.refuse_unfit(to, [found.number] if apart.exists() else [])
        if found.place_id == to.pk:
            return found
        before, found.place = found.place, to
        keep(found)
        old, new = {"place": before}, {"place": to}
        record(by, "moved", found.subject, before=old, after=new, reason=note, happened=happened, by_name=by_name)
    return found


def know_part_again(*, by: User, found: FoundThing, part: Part) -> Piece:
    """A yes: the found thing is the missing half or part of a piece, which is whole again.

    Raises WrongState when the thing is known already or the part is not missing.
    """
    require(by, Ability.RECORD)
    with transaction.atomic():
        lock_rows(Piece.objects.filter(pk=part.piece_id))
        found = _open_thing(found)
        part = Part.objects.select_related("piece").select_for_update(no_key=True, of=("self",)).get(pk=part.pk)
        if part.missing_since is None:
            raise WrongState(f"{part} ({part.name}) is not missing.")
        part.missing_since = None
        keep(part)
        record(by, "part known again", part.piece.subject, after={"part": part.name, "found_as": found.number})
        _is_known(by, found, part.piece)
    return part.piece


def know_again(*, by: User, found: FoundThing, piece: Piece) -> Piece:
    """A yes: the found thing is this piece. The piece is found here; the temporary number is retired and leads to it.

    A piece that was only just recorded is received here. Raises WrongState when the thing is known already, or when the
    piece stands elsewhere by its record.
    """
    require(by, Ability.RECORD)
    with transaction.atomic():
        standing = shared.standing_to_change(piece)
        found = _open_thing(found)
        why = f"found as {found.number}"
        if standing is None:
            receive_piece(by=by, piece=piece, place=found.place, source=why)
        elif standing.state == State.NOT_FOUND:
            mark_found(by=by, piece=piece, at=found.place, note=why)
        else:
            where = standing.place.code if standing.place else "no place"
            raise WrongState(f"{piece.number} is not missing: it is {standing.state} ({where}). Look there first.")
        _keep_apart(by, found, piece)
        _is_known(by, found, piece)
        record(by, "known again", piece.subject, after={"found_as": found.number})
    return piece


def _open_thing(found: FoundThing) -> FoundThing:
    """The found thing as it is now, held; raises WrongState when it is known already."""
    rows = FoundThing.objects.select_for_update(no_key=True, of=("self",)).select_related("place", "piece")
    found = rows.get(pk=found.pk)
    if found.state != FoundState.OPEN:
        raise WrongState(f"{found.number} is known already: it is {found.piece}.")
    return found


def _is_known(by: User, found: FoundThing, piece: Piece) -> None:
    found.state, found.piece, found.closed_at = FoundState.KNOWN, piece, now()
    keep(found)
    record(by, "known again", found.subject, after={"piece": piece.number, "state": found.state})


def _keep_apart(by: User, found: FoundThing, piece: Piece) -> None:
    """What came out of a received trunk stays in quarantine until the trunk's day."""
    apart = Receipt.objects.filter(lines__found=found, quarantine_due__isnull=False, released_on__isnull=True)
    receipt = apart.select_related("container").first()
    if receipt is None or receipt.quarantine_due is None or piece.quarantines.filter(released_on=None).exists():
        return
    why = f"came in {receipt.container.code}"
    open_quarantine(by=by, piece=piece, opened_on=receipt.received_on, due_on=receipt.quarantine_due, reason=why)


def _next_number() -> str:
    last = FoundThing.objects.order_by("-id").values_list("number", flat=True).first()
    return f"{TEMPORARY}{int((last or TEMPORARY + '0').removeprefix(TEMPORARY)) + 1:04d}"


def _value(row: FoundMeasure | None) -> int | None:
    return None if row is None else row.value_mm
