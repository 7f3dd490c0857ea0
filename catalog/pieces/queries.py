"""What is read of pieces: numbers, who may see which, and what one piece's page shows."""

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db.models import BigIntegerField, Max, QuerySet
from django.db.models.functions import Cast, Substr

from catalog.access.permissions import Ability, can
from catalog.core import history, house
from catalog.core.codes import looks_like_code, plain
from catalog.core.fields import plain_of
from catalog.core.form_fields import length_unit, weight_unit
from catalog.core.history_words import rows
from catalog.core.models import File
from catalog.core.units import LengthUnit, WeightUnit, show_length, show_weight
from catalog.pieces.calc.kinds import KINDS, POINTS, bare_word
from catalog.pieces.calc.values import bare_amount
from catalog.pieces.measure_fields import show_measure
from catalog.pieces.models import Measure, Piece, PieceFile, Production

AnyUser = AbstractBaseUser | AnonymousUser


def next_number(production: Production, replica: bool = False) -> str:
    """The next free number: the highest of its kind plus one, so that a gap is never filled and none used twice.

    Originals and references count as CODE-0001, replicas as CODE-R001; the house says how many digits the first have.
    """
    digits = int(house.value("number.digits"))
    prefix, width = (f"{production.code}-R", max(digits - 1, 1)) if replica else (f"{production.code}-", digits)
    # At most 15 digits: an odd old number must not overflow the database's integers.
    own = Piece.objects.filter(number__iregex=rf"^{re.escape(prefix)}[0-9]{{1,15}}$")
    number = Cast(Substr("number", len(prefix) + 1), BigIntegerField())
    highest = own.aggregate(highest=Max(number))["highest"] or 0
    return f"{prefix}{highest + 1:0{width}d}"


def piece_by_number(number: str) -> Piece | None:
    """The piece of this number in any case, or the only one called so but for dashes and spaces; else None."""
    exact = Piece.objects.filter(number__iexact=" ".join(number.split())).first()
    if exact is not None or not plain(number) or "/" in number or looks_like_code(number):
        return exact  # a label is looked up by its code, not by going through all numbers
    alike = list(Piece.objects.annotate(plain=plain_of("number")).filter(plain=plain(number))[:2])
    return alike[0] if len(alike) == 1 else None


def visible_to(user: AnyUser) -> QuerySet[Piece]:
    """The pieces this person may see; the same as Piece.objects.seen_by(user)."""
    return Piece.objects.seen_by(user)


def productions_for(user: AnyUser) -> QuerySet[Production]:
    """The productions this person may see: closed ones are hidden from visitors."""
    every = Production.objects.all()
    return every if can(user, Ability.SEE_STAFF) else every.filter(closed=False)


def made_year(piece: Piece) -> int | None:
    """The year the piece was made: its own, else the production's for what was made for it, else unknown."""
    if piece.made_year is not None:
        return piece.made_year
    return piece.production.year if piece.owner == Piece.Owner.OURS else None


def may_see_file(user: AnyUser, seen_by: str) -> bool:
    """Whether the person is in the circle that may see a file."""
    if seen_by == File.SeenBy.WARDROBE:
        return can(user, Ability.RECORD) or can(user, Ability.FIT)
    return seen_by == File.SeenBy.EVERYBODY or can(user, Ability.SEE_STAFF)


def pictures_for(piece: Piece, user: AnyUser) -> list[PieceFile]:
    """The piece's pictures that the person may see, the main one first."""
    return [row for row in piece.pictures.select_related("file") if may_see_file(user, row.file.seen_by)]


def picture_file_for(user: AnyUser, file_id: int) -> File | None:
    """The file of a picture, if a piece that the person may see has it and the person is in its circle; else None."""
    file = File.objects.filter(pk=file_id).first()
    if file is None or not may_see_file(user, file.seen_by):
        return None
    return file if visible_to(user).filter(pictures__file=file).exists() else None


def piece_facts(piece: Piece, user: AnyUser) -> dict[str, Any]:
    """The sections of the piece's page, for the parts `_measures`, `_pictures`, `_parts` and `_history`.

    Keys: piece, kind, facts, measures, pictures, parts, matches, values (None: not for this person), history (None:
    staff only), may_record. Values, and the lines that tell them, are left out for whoever may not see values.
    """
    staff, sees_values = can(user, Ability.SEE_STAFF), can(user, Ability.SEE_VALUES)
    length, weight = length_unit(user), weight_unit(user)
    hidden = () if sees_values else ("value", "currency", "basis", "valued_on")
    return {
        "piece": piece,
        "kind": KINDS[piece.kind],
        "facts": _facts(piece, length, weight, staff=staff),
        "measures": [_measure(row, length) for row in piece.measures.all()],
        "pictures": pictures_for(piece, user),
        "parts": list(piece.parts.all()),
        "matches": list(piece.matches.all()),
        "values": list(piece.valuations.select_related("valued_by")) if sees_values else None,
        "history": rows(history.lines_of(piece.subject), _say(length, weight), hidden) if staff else None,
        "may_record": can(user, Ability.RECORD),
    }


def _facts(piece: Piece, length: LengthUnit, weight: WeightUnit, *, staff: bool) -> list[dict[str, Any]]:
    year = made_year(piece)
    packed = (piece.packed_length_mm, piece.packed_width_mm, piece.packed_height_mm)
    origin = piece.get_origin_display()
    if piece.reference_piece:
        origin += f", copied from {piece.reference_piece.number}"
    owner = piece.get_owner_display() + (f": {piece.owner_name}" if piece.owner_name else "")
    facts: list[dict[str, Any]] = [
        {"name": "Production", "value": piece.production.title},
        {"name": "Role", "value": piece.role and piece.role.name, "unknown": "no role"},
        {"name": "Slot", "value": piece.slot and piece.slot.name, "unknown": "no slot"},
        {"name": "Set", "value": piece.set and piece.set.code, "unknown": "in no set"},
        {"name": "Multiple", "value": piece.get_multiple_display(), "unknown": "not said"},
        {"name": "Origin", "value": origin},
        {"name": "Look it is in", "value": piece.look and piece.look.name, "unknown": "not recorded"},
        {
            "name": "Materials",
            "value": ", ".join(row.name for row in piece.materials.all()),
            "unknown": "not recorded",
        },
        {
            "name": "Weight",
            "value": None if piece.weight_g is None else show_weight(piece.weight_g, weight),
            "unknown": "not weighed",
        },
        {
            "name": "Packed size",
            "value": " × ".join(show_length(side, length) for side in packed if side) if all(packed) else None,
            "unknown": "not measured",
        },
        {"name": "Size mark", "value": piece.size_mark, "unknown": "none", "source": "what its label says"},
        {
            "name": "Made",
            "value": year,
            "source": "" if piece.made_year else "as the production",
            "unknown": "not known",
        },
        {"name": "Tag", "value": KINDS[piece.kind].tag_at, "source": "usual place, never an adhesive"},
    ]
    facts += [{"name": "Owner", "value": owner}] if staff else []
    return [fact for fact in facts if fact["value"] or fact["name"] not in {"Multiple", "Size mark"}]


def _measure(row: Measure, unit: LengthUnit) -> dict[str, Any]:
    """A measure as the page shows it, with how far it can be trusted."""
    point = POINTS[row.point]
    shown = None if row.value_mm is None else show_measure(point, row.value_mm, unit)
    return {
        "word": bare_word(point),
        "value": shown,
        "why": row.not_measured_because,
        "let_out": show_length(row.let_out_mm, unit) if row.let_out_mm is not None else "",
        "trust": row.get_trust_display(),
        "how": row.how,
        "taken_on": row.taken_on,
        "taken_by": row.taken_by,
    }


def _say(length: LengthUnit, weight: WeightUnit) -> Mapping[str, Any]:
    """How the facts of a piece's lines are said."""

    def measure(fact: dict[str, Any]) -> str:
        point = POINTS.get(fact.get("point", ""))
        if point is None or "value_mm" not in fact:
            return f"{point.word if point else ''} not measured: {fact.get('not_measured_because', '')}"
        out = f", let-out {show_length(fact['let_out_mm'], length)}" if "let_out_mm" in fact else ""
        return f"{bare_word(point)} {show_measure(point, fact['value_mm'], length)}{out}"

    return {
        "measure": _of_facts(measure),
        "weight_g": lambda value: show_weight(value, weight),
        "packed_mm": lambda sides: " × ".join(show_length(side, length) for side in sides if side),
        "kind": lambda key: KINDS[key].word if key in KINDS else str(key),
        "part": _of_facts(lambda fact: f"{fact.get('letter', '')} {fact.get('name', '')}".strip()),
        "picture": _of_facts(lambda fact: ", ".join(word for word in (fact.get("view"), fact.get("caption")) if word)),
        "alteration": _of_facts(lambda fact: _altered(fact, length)),
        "treatment": _of_facts(
            lambda fact: fact.get("what", "") + (f" ({fact['days']} days)" if fact.get("days") else "")
        ),
        "value": lambda amount: bare_amount(Decimal(amount)),
        "hazard": lambda code: str(code).replace("_", " "),
        "pack": _of_facts(_packed),
        "match": _of_facts(lambda fact: ", ".join(f"{group} {value}" for group, value in fact.items())),
    }


def _of_facts(say: Callable[[dict[str, Any]], str]) -> Callable[[Any], str]:
    """The same for a line of another room, or of years ago, that told the fact in plain words."""
    return lambda value: say(value) if isinstance(value, dict) else str(value)


def _packed(fact: dict[str, Any]) -> str:
    """ "lithium ion, fitted, 48 Wh, charged to 30 %"."""
    said = [str(fact[key]).replace("_", " ") for key in ("chemistry", "placed") if fact.get(key)]
    said += [f"{fact['energy_wh']} Wh"] if fact.get("energy_wh") else []
    return ", ".join(said + ([f"charged to {fact['charge_percent']} %"] if "charge_percent" in fact else []))


def _altered(fact: dict[str, Any], length: LengthUnit) -> str:
    """ "side seams taken in, chest, all round by 3.0 cm"."""
    text = str(fact.get("what", ""))
    point = POINTS.get(fact.get("point", ""))
    if point:
        text += f", {point.word}"
    return text + (f" by {show_length(abs(fact['change_mm']), length)}" if fact.get("change_mm") else "")
