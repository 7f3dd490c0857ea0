"""What is measured, counted and compared on a piece: measures, parts, what must match, values."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import history
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongValues
from catalog.pieces.calc.kinds import POINTS, impossible
from catalog.pieces.models import MatchValue, Measure, Part, Piece, Valuation

_MEASURED = ("value_mm", "let_out_mm", "trust", "how", "not_measured_because", "taken_on")


@transaction.atomic
def set_measure(
    *,
    by: User,
    piece: Piece,
    point: str,
    value_mm: int | None = None,
    let_out_mm: int | None = None,
    trust: str = Measure.Trust.MEASURED,
    how: str = "",
    not_measured_because: str = "",
    taken_on: date | None = None,
    taken_by: str = "",
    source: str = "",
) -> Measure:
    """Put or correct the measure of a point; the old value stays in the history.

    Raises Refused for a value that cannot be true for the point, and when neither a value nor a reason is given.
    """
    require(by, Ability.RECORD)
    refuse_unless_past(taken_on=taken_on)
    if point not in POINTS:
        raise Refused(f"“{point}” is no point we measure.", field="point")
    if value_mm is not None and (wrong := impossible(point, value_mm)):
        raise Refused(wrong, field="value_mm")
    row = Measure.objects.select_for_update().filter(piece=piece, point=point).first()
    before = _measure_facts(row) if row else None
    row = row or Measure(piece=piece, point=point)
    row.value_mm, row.let_out_mm, row.trust, row.how = value_mm, let_out_mm, trust, how.strip()
    row.not_measured_because, row.taken_on, row.taken_by = not_measured_because.strip(), taken_on, taken_by.strip()
    keep(row)
    after = _measure_facts(row)
    if before != after:
        history.record(
            by,
            "measured" if before is None else "measure corrected",
            piece.subject,
            before={"measure": before} if before else None,
            after={"measure": after},
            reason=source,
        )
    return row


@transaction.atomic
def set_measures(*, by: User, piece: Piece, rows: Iterable[Mapping[str, Any]], source: str = "") -> list[Measure]:
    """Several points at once, all or none; each row holds what set_measure takes.

    Raises WrongValues with a sentence for each point that cannot be true, under the name "m_" and the point.
    """
    kept, faults = [], {}
    for row in rows:
        try:
            kept.append(set_measure(by=by, piece=piece, source=source, **row))
        except Refused as refused:
            faults[f"m_{row['point']}"] = [refused.sentence]
    if faults:
        raise WrongValues(faults)
    return kept


@transaction.atomic
def add_part(*, by: User, piece: Piece, letter: str, name: str, side: str = "", source: str = "") -> Part:
    """Something of the piece that can get lost alone. Raises WrongValues when the letter is taken."""
    require(by, Ability.RECORD)
    row = keep(Part(piece=piece, letter=letter.strip(), name=" ".join(name.split()), side=side))
    told = {"part": {"letter": row.letter, "name": row.name, "side": side}}
    history.record(by, "part added", piece.subject, after=told, reason=source)
    return row


@transaction.atomic
def set_match(*, by: User, piece: Piece, group: str, value: str, source: str = "") -> MatchValue:
    """What must agree with the rest of a set, for example group "ring", value "A". A new value replaces the old."""
    require(by, Ability.RECORD)
    clean, said = " ".join(group.split()), " ".join(value.split())
    row = MatchValue.objects.select_for_update().filter(piece=piece, group__iexact=clean).first()
    if row and row.value == said:
        return row
    before = {"match": {row.group: row.value}} if row else None
    row = row or MatchValue(piece=piece, group=clean)
    row.value = said
    keep(row)
    history.record(
        by, "match set", piece.subject, before=before, after={"match": {row.group: row.value}}, reason=source
    )
    return row


@transaction.atomic
def value_piece(
    *,
    by: User,
    piece: Piece,
    amount: Decimal | int | str,
    currency: str,
    basis: str = Valuation.Basis.AGREED,
    valued_on: date,
    source: str = "",
) -> Valuation:
    """Add a value; older ones stay. Values are read only by those who may see them, also in the history."""
    require(by, Ability.RECORD)
    require(by, Ability.SEE_VALUES)
    refuse_unless_past(valued_on=valued_on)
    code = currency.strip().upper()
    if len(code) != 3 or not code.isascii() or not code.isalpha():
        raise Refused("Type the currency as its three letters, for example EUR.", field="currency")
    last = piece.valuations.first()
    row = Valuation(piece=piece, amount=Decimal(amount), currency=code, basis=basis, valued_on=valued_on, valued_by=by)
    keep(row)
    history.record(
        by,
        "valued",
        piece.subject,
        before=_value_facts(last) if last else None,
        after=_value_facts(row),
        reason=source,
    )
    return row


def _measure_facts(row: Measure) -> dict[str, Any]:
    """For a line; who held the tape stands in the row, the line has its own author."""
    facts = {"point": row.point, **{field: getattr(row, field) for field in _MEASURED}}
    facts["taken_on"] = row.taken_on.isoformat() if row.taken_on else None
    return {field: value for field, value in facts.items() if value not in (None, "")}


def _value_facts(row: Valuation) -> dict[str, Any]:
    return {"value": str(row.amount), "currency": row.currency, "basis": row.basis, "valued_on": row.valued_on}
