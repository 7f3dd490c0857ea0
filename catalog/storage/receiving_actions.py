"""A trunk comes in: received without listing its content, unpacked thing by thing, closed when all is listed."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.actions import open_quarantine, release_quarantine
from catalog.core import clock, house
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import alone
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece, Production
from catalog.storage import standing as shared
from catalog.storage import tree
from catalog.storage.found_actions import take_in_found
from catalog.storage.label_actions import bind_label, issue_label
from catalog.storage.models import Place, PlaceKind, Standing, State
from catalog.storage.move_actions import move_container, move_piece, receive_piece
from catalog.storage.place_actions import add_place
from catalog.storage.receiving_models import Receipt, ReceiptLine, WrapThing
from catalog.storage.receiving_queries import next_trunk_code, open_receipt_of, progress_words

_LETTERS = "abcdefghijklmnopqrstuvwxyz"


def receive_trunk(
    *,
    by: User,
    place: Place,
    container: Place | None = None,
    kind: str = PlaceKind.TRUNK,
    name: str = "",
    label: str = "",
    production: Production | None = None,
    said: int | None = None,
    seal: str = "",
    gross_g: int | None = None,
    note: str = "",
    received_on: date | None = None,
) -> Receipt:
    """A container that came in, its content not listed: a known one, or a new one under the next number.

    `label` is a blank that was stuck on it; without one a label is issued. It is kept apart as long as the house says.
    Raises WrongState when it is received already, out or not found, or when `place` is in the main store.
    """
    require(by, Ability.RECORD)
    refuse_unless_past(received_on=received_on)
    day = received_on or clock.today()
    days = int(house.value("receive.quarantine_days"))
    with transaction.atomic():
        alone("tree")
        new = container is None
        if container is None:
            container = _new_container(by, place, kind, name, production, apart=days > 0)
        else:
            container = _known_container(container)
        receipt = Receipt(container=container, production=production, said=said, gross_g=gross_g, received_on=day)
        receipt.seal, receipt.note = " ".join(seal.split()), " ".join(note.split())
        receipt.by, receipt.by_name = by, str(by)
        receipt.quarantine_due = day + timedelta(days=days) if days else None
        keep(receipt)
        if not new:
            _keep_apart(by, receipt, _content(container))
            move_container(by=by, container=container, to=place, reason="received")
        if label:
            bind_label(by=by, code=label, place=container)
        elif new:
            issue_label(by=by, place=container)
        record(by, "received", container.subject, after=_told(receipt), reason=receipt.note)
    return receipt


def list_new(
    *,
    by: User,
    receipt: Receipt,
    number: str,
    name: str,
    kind: str,
    production: Production,
    parts: Iterable[str] = (),
    picture: bytes | None = None,
    label: str = "",
    client_id: UUID | None = None,
) -> ReceiptLine:
    """A new piece out of the trunk: recorded, standing in it, in quarantine until the trunk's day.

    A pair gets its two halves; `parts` are what else can get lost alone. A repeated client id gives the earlier line.
    """
    require(by, Ability.RECORD)
    with transaction.atomic():
        receipt = _open(receipt)
        if (earlier := _sent_before(client_id, receipt)) is not None:
            return earlier
        piece = pieces.record_piece(by=by, number=number, name=name, kind=kind, production=production)
        _add_parts(by, piece, parts)
        if picture is not None:
            pieces.add_picture(by=by, piece=piece, data=picture)
        receive_piece(by=by, piece=piece, place=receipt.container)
        if label:
            bind_label(by=by, code=label, piece=piece)
        return _line(by, receipt, piece, client_id)


def list_unclear(
    *,
    by: User,
    receipt: Receipt,
    name: str,
    kind: str,
    production: Production | None = None,
    picture: bytes | None = None,
    client_id: UUID | None = None,
) -> ReceiptLine:
    """Something of which nobody knows what it belongs to: it gets a temporary number and is counted."""
    require(by, Ability.RECORD)
    with transaction.atomic():
        receipt = _open(receipt)
        if (earlier := _sent_before(client_id, receipt)) is not None:
            return earlier
        box, why = receipt.container, f"unpacked from {receipt.container.code}"
        found = take_in_found(by=by, name=name, kind=kind, place=box, production=production, picture=picture, note=why)
        return keep(ReceiptLine(receipt=receipt, found=found, by_name=str(by), client_id=client_id))


def expect_piece(*, by: User, piece: Piece, container: Place, source: str) -> None:
    """A list says that a new piece lies in the container; nobody has seen it there, so it is not listed by this.

    In a trunk that is kept apart it is in quarantine with it. Raises Refused for a place that is no container.
    """
    require(by, Ability.RECORD)
    if not container.is_container:
        raise Refused(f"{container.code} is a {container.get_kind_display()}, not a container.", field="container")
    with transaction.atomic():
        receipt = open_receipt_of(container)
        receive_piece(by=by, piece=piece, place=container, source=source)
        if receipt is not None:
            _keep_apart(by, receipt, [piece])


def note_not_kept(
    *,
    by: User,
    production: Production,
    name: str,
    fate: str,
    kind: str = "",
    owner_name: str = "",
    container: Place | None = None,
    source: str = "",
) -> WrapThing:
    """A thing of a wrap list that is returned, a performer's own, or disposed of: no piece, but where it went.

    The name of a performer is not kept.
    """
    require(by, Ability.RECORD)
    with transaction.atomic():
        thing = WrapThing(production=production, name=" ".join(name.split()), kind=kind, fate=fate, source=source)
        thing.owner_name = "" if fate == WrapThing.Fate.PERFORMER else owner_name.strip()
        thing.container, thing.listed_on = container, clock.today()
        keep(thing)
        facts = {"name": thing.name, "fate": thing.get_fate_display(), "owner": thing.owner_name, "in": container}
        told = {key: str(value) for key, value in facts.items() if value not in (None, "")}
        record(by, "not kept", production.subject, after={"wrap": told}, reason=source)
    return thing


def list_known(*, by: User, receipt: Receipt, piece: Piece, client_id: UUID | None = None) -> ReceiptLine:
    """A piece that has its number already (from a wrap list) lies in the trunk. Raises WrongState when it is listed."""
    require(by, Ability.RECORD)
    with transaction.atomic():
        receipt = _open(receipt)
        if (earlier := _sent_before(client_id, receipt)) is not None:
            return earlier
        if receipt.lines.filter(piece=piece).exists():
            raise WrongState(f"{piece.number} is listed in {receipt.container.code} already.", field="code")
        if Standing.objects.filter(piece=piece).exists():
            move_piece(by=by, piece=piece, to=receipt.container, reason=f"unpacked from {receipt.container.code}")
        else:
            receive_piece(by=by, piece=piece, place=receipt.container)
        return _line(by, receipt, piece, client_id)


def close_receipt(*, by: User, receipt: Receipt, note: str = "") -> Receipt:
    """All that is in the trunk is listed. Raises Refused when the count differs and nobody says why."""
    require(by, Ability.RECORD)
    note = " ".join(note.split())
    with transaction.atomic():
        receipt = _open(receipt)
        listed = receipt.lines.count()
        words = progress_words(listed, receipt.said)
        if receipt.said is not None and listed != receipt.said and not note:
            raise Refused(f"{words}: say why the count differs before this is closed.", field="note")
        receipt.listed, receipt.closing_note = listed, note
        receipt.closed_on, receipt.closed_by_name = max(clock.today(), receipt.received_on), str(by)
        keep(receipt)
        record(by, "all listed", receipt.container.subject, after={"listed": words}, reason=note)
    return receipt


def release_trunk(*, by: User, receipt: Receipt, findings: str = "") -> Receipt:
    """The trunk is checked as a whole, with what still lies in it, and may stand among the others, listed or not.

    Before its day only with a word of what was looked at and found. Raises WrongState when it is not kept apart, and
    while pest work is open on something in it.
    """
    require(by, Ability.PUT_AWAY)
    findings = " ".join(findings.split())
    with transaction.atomic():
        receipt = _open(receipt)
        due = receipt.quarantine_due
        if due is None or receipt.released_on is not None:
            raise WrongState(f"{receipt.container.code} is not in quarantine.")
        if clock.today() < due and not findings:
            raise Refused(
                f"{receipt.container.code} is in quarantine until {due:%-d %b %Y}: to release it earlier, say what was "
                "looked at and found.",
                field="findings",
            )
        for piece in _content(receipt.container):
            if piece.quarantines.filter(released_on__isnull=True, reason=_reason(receipt)).exists():
                release_quarantine(by=by, piece=piece, released_on=clock.today(), findings=findings)
        receipt.released_on, receipt.findings = clock.today(), findings
        keep(receipt)
        before = {"quarantine": "open", "quarantine_due": due}
        told = {"quarantine": "released"}
        subject = receipt.container.subject
        record(by, "released from quarantine", subject, before=before, after=told, reason=findings)
    return receipt


def _new_container(
    by: User, place: Place, kind: str, name: str, production: Production | None, *, apart: bool
) -> Place:
    if kind not in Place.CONTAINERS:
        raise Refused("What comes in is a trunk, crate, box or rail on wheels.", field="kind")
    code = next_trunk_code()
    shared.refuse_unfit(place, [code] if apart else [])
    today = clock.today()
    words = name or f"{PlaceKind(kind).label} {f'of {production.title}' if production else 'without a production yet'}"
    return add_place(by=by, code=code, name=words[:160], kind=kind, parent=place, last_seen=today, last_seen_by=str(by))


def _known_container(container: Place) -> Place:
    if not container.is_container:
        raise Refused(f"{container.code} is a {container.get_kind_display()}: it does not come in.", field="label")
    container = shared.container_to_change(container)
    if container.state != State.IN_STORE:
        first = "say that it was found" if container.state == State.NOT_FOUND else "bring it back"
        raise WrongState(f"{container.code} is {container.state}: {first} first, then receive it.", field="label")
    if Receipt.objects.filter(container=container, closed_on__isnull=True).exists():
        raise WrongState(f"{container.code} is received and not listed already: unpack it.", field="label")
    return container


def _open(receipt: Receipt) -> Receipt:
    """The receipt as it is now, its row held. Raises WrongState when all was listed."""
    rows = Receipt.objects.select_for_update(no_key=True, of=("self",)).select_related("container", "production")
    held = rows.get(pk=receipt.pk)
    if held.closed_on is not None:
        raise WrongState(f"All that came in {held.container.code} is listed since {held.closed_on:%-d %b %Y}.")
    return held


def _sent_before(client_id: UUID | None, receipt: Receipt) -> ReceiptLine | None:
    if client_id is None:
        return None
    line = ReceiptLine.objects.select_related("piece", "found").filter(client_id=client_id).first()
    if line is not None and line.receipt_id != receipt.pk:
        raise Refused("This page was sent already for another trunk: load it again.")
    return line


def _add_parts(by: User, piece: Piece, names: Iterable[str]) -> None:
    """The halves of a pair came with it; what else can get lost alone takes the next letters."""
    wanted = [name for name in names if name.strip()]
    taken = {part.letter for part in piece.parts.all()} if wanted else set()
    free = [letter for letter in _LETTERS if letter not in taken]
    if len(wanted) > len(free):
        raise Refused(f"A piece has at most {len(free)} parts of its own.", field="parts")
    for letter, name in zip(free, wanted, strict=False):
        pieces.add_part(by=by, piece=piece, letter=letter, name=name)


def _line(by: User, receipt: Receipt, piece: Piece, client_id: UUID | None) -> ReceiptLine:
    """Its line; and its quarantine, which began with the trunk's."""
    _keep_apart(by, receipt, [piece])
    return keep(ReceiptLine(receipt=receipt, piece=piece, by_name=str(by), client_id=client_id))


def _keep_apart(by: User, receipt: Receipt, pieces_in_it: Iterable[Piece]) -> None:
    """What came in the trunk is in quarantine from the trunk's day to the trunk's day, unless it was released."""
    due = receipt.quarantine_due if receipt.released_on is None else None
    for piece in pieces_in_it if due is not None else ():
        if due is not None and not piece.quarantines.filter(released_on__isnull=True).exists():
            why = _reason(receipt)
            open_quarantine(by=by, piece=piece, opened_on=receipt.received_on, due_on=due, reason=why)


def _reason(receipt: Receipt) -> str:
    return f"came in {receipt.container.code}"


def _content(container: Place) -> list[Piece]:
    """The pieces that lie in it by the record, their rows held."""
    rows = Piece.objects.filter(standing__place__in=tree.under(container)).order_by("pk")
    return list(rows.select_for_update(no_key=True, of=("self",)))


def _told(receipt: Receipt) -> dict[str, Any]:
    """What is known of it; what nobody said is left out."""
    facts = {
        "production": receipt.production.code if receipt.production else None,
        "said": receipt.said,
        "seal": receipt.seal,
        "gross_g": receipt.gross_g,
        "quarantine_due": receipt.quarantine_due,
    }
    return {field: value for field, value in facts.items() if value not in (None, "")}
