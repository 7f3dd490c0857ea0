"""Recording a piece and correcting it."""

import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import history
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongValues
from catalog.pieces.calc.kinds import KINDS
from catalog.pieces.calc.numbers import TEMPORARY, is_temporary
from catalog.pieces.models import Look, OutfitSet, Part, Piece, Production, Role, Slot
from catalog.pieces.production_actions import materials_named

# Stands in addresses and on tags: no slash, and something to hold on to at the start.
NUMBER = re.compile(r"^[^\W_][\w .+()\-]*$")
_PACKED = ("packed_length_mm", "packed_width_mm", "packed_height_mm")
# What edit_piece may change. The number is not among them: it stands on tags, papers and in the history.
_EDITABLE = (
    "name",
    "kind",
    "production",
    "role",
    "slot",
    "set",
    "multiple",
    "origin",
    "reference_piece",
    "made_year",
    "owner",
    "owner_name",
    "weight_g",
    "look",
    "size_mark",
    "note",
)


@transaction.atomic
def record_piece(
    *,
    by: User,
    number: str,
    name: str,
    kind: str,
    production: Production,
    role: Role | None = None,
    slot: Slot | None = None,
    outfit_set: OutfitSet | None = None,
    multiple: str = "",
    origin: str = Piece.Origin.ORIGINAL,
    reference_piece: Piece | None = None,
    made_year: int | None = None,
    owner: str = Piece.Owner.OURS,
    owner_name: str = "",
    materials: Iterable[str] = (),
    weight_g: int | None = None,
    packed_mm: tuple[int, int, int] | None = None,
    look: Look | None = None,
    size_mark: str = "",
    note: str = "",
    happened: datetime | None = None,
    by_name: str = "",
    source: str = "",
) -> Piece:
    """A new piece under its number; a pair gets its two halves as parts.

    Raises Refused when the number is taken in any case, and WrongValues naming every field that cannot be stored.
    """
    require(by, Ability.RECORD)
    piece = Piece(
        number=_free_number(number),
        name=" ".join(name.split()),
        kind=kind,
        production=production,
        role=role,
        slot=slot,
        set=outfit_set,
        multiple=multiple,
        origin=origin,
        reference_piece=reference_piece,
        made_year=made_year,
        owner=owner,
        owner_name=owner_name.strip(),
        weight_g=weight_g,
        look=look,
        size_mark=size_mark.strip(),
        note=note.strip(),
    )
    _pack(piece, packed_mm)
    _fits_together(piece)
    keep(piece)
    piece.materials.set(materials_named(materials))
    if KINDS[kind].pair:
        for letter, side in (("a", Part.Side.LEFT), ("b", Part.Side.RIGHT)):
            keep(Part(piece=piece, letter=letter, name=f"{side} half", side=side))
    facts = {field: value for field, value in facts_of(piece).items() if value not in (None, "", [])}
    history.record(by, "recorded", piece.subject, after=facts, happened=happened, by_name=by_name, reason=source)
    return piece


@transaction.atomic
def edit_piece(*, by: User, piece: Piece, source: str = "", **changes: Any) -> Piece:
    """Correct what is known of a piece; only the fields given change, and the line keeps what stood there before.

    Takes the names of record_piece (`outfit_set`, `materials`, `packed_mm` among them) except the number, which is
    never changed and never used again.
    """
    require(by, Ability.RECORD)
    row = Piece.objects.select_for_update(no_key=True, of=("self",)).select_related(*_RELATED).get(pk=piece.pk)
    before = facts_of(row)
    if "outfit_set" in changes:
        changes["set"] = changes.pop("outfit_set")
    names = changes.pop("materials", None)
    if "packed_mm" in changes:
        _pack(row, changes.pop("packed_mm"))
    if unknown := sorted(set(changes) - set(_EDITABLE)):
        raise Refused(f"{unknown[0].replace('_', ' ').capitalize()} of a piece cannot be changed.", field=unknown[0])
    for field, value in changes.items():
        setattr(row, field, value.strip() if isinstance(value, str) else value)
    _fits_together(row)
    keep(row)
    if names is not None:
        row.materials.set(materials_named(names))
    was, now = history.changed(before, facts_of(row))
    if now:
        history.record(by, "corrected", row.subject, before=was, after=now, reason=source)
    return row


_RELATED = ("production", "role", "slot", "set", "look", "reference_piece")


def facts_of(piece: Piece) -> dict[str, Any]:
    """What a history line may tell of a piece. The name of a performer who owns it stays out."""
    codes = {
        "production": piece.production.code,
        "role": piece.role.code if piece.role else None,
        "slot": piece.slot.code if piece.slot else None,
        "set": piece.set.code if piece.set else None,
        "look": piece.look.name if piece.look else None,
        "reference_piece": piece.reference_piece.number if piece.reference_piece else None,
    }
    plain = {field: getattr(piece, field) for field in _EDITABLE if field not in codes}
    if piece.owner == Piece.Owner.PERFORMER:
        plain["owner_name"] = ""
    packed = [getattr(piece, field) for field in _PACKED]
    return {
        **plain,
        **codes,
        "materials": sorted(row.name for row in piece.materials.all()),
        "packed_mm": packed if any(packed) else None,
    }


def _free_number(number: str) -> str:
    clean = " ".join(number.split())
    if not clean:
        raise Refused("Number is missing.", field="number")
    if not NUMBER.match(clean) or not any(sign.isdigit() for sign in clean):
        raise Refused(
            f"“{clean[:30]}” cannot be a number: use digits (at least one), letters, spaces, points and dashes.",
            field="number",
        )
    if is_temporary(clean):
        raise Refused(
            f"{TEMPORARY} begins the temporary numbers of found things: a piece never has one.", field="number"
        )
    if taken := Piece.objects.filter(number__iexact=clean).first():
        raise Refused(f"The number {taken.number} is taken; numbers are never reused.", field="number")
    return clean


def _pack(piece: Piece, packed_mm: tuple[int, int, int] | None) -> None:
    for field, value in zip(_PACKED, packed_mm or (None, None, None), strict=True):
        setattr(piece, field, value)


def _fits_together(piece: Piece) -> None:
    """Role, slot, set and look belong to each other; the foreign keys alone would let any two meet."""
    faults: Mapping[str, list[str]] = {}
    if piece.kind not in KINDS:
        faults = {"kind": [f"“{piece.kind}” is no kind of piece."]}
    if piece.role and piece.role.production_id != piece.production_id:
        faults = {**faults, "role": [f"{piece.role.name} is no role of {piece.production.title}."]}
    if piece.slot and piece.role and piece.slot.role_id != piece.role_id:
        faults = {**faults, "slot": [f"{piece.slot.name} is no slot of {piece.role.name}."]}
    if piece.set and piece.role and piece.set.role_id != piece.role_id:
        faults = {**faults, "set": [f"{piece.set.code} is no set of {piece.role.name}."]}
    if piece.look and piece.look.production_id != piece.production_id:
        faults = {**faults, "look": [f"“{piece.look.name}” is no look of {piece.production.title}."]}
    if faults:
        raise WrongValues(faults)
