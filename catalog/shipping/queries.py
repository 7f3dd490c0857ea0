"""Pieces turned into facts, rule rows into a book, and the verdicts made from both."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any

from catalog.care.apart_queries import kept_apart
from catalog.care.models import BatteryPack
from catalog.care.queries import findings_of, materials_of
from catalog.core import house
from catalog.loans.models import Call
from catalog.pieces.models import Piece
from catalog.pieces.production_models import Kinds
from catalog.pieces.queries import made_year
from catalog.shipping.calc.facts import Mode, Pack, PieceFacts, Trip
from catalog.shipping.calc.rules import RuleBook, rule_book_from_json
from catalog.shipping.calc.travel import Assessment, judge_all, summary
from catalog.shipping.calc.verdicts import Summary
from catalog.shipping.models import RuleRow
from catalog.storage.queries import missing_ids

_RULE_FIELDS = (
    "code", "version", "trigger", "modes", "verdict", "reason", "condition", "papers", "source", "edition",
    "jurisdiction", "confidence",
)  # fmt: skip
# Points whose value is a length of the piece itself, for its longest side.
_LONG_POINTS = ("length", "width", "depth")


@dataclass(frozen=True, slots=True)
class Answer:
    """What may be done with one piece, by every way of travelling."""

    piece: Piece
    by_mode: dict[Mode, Assessment]
    summary: Summary

    @property
    def first_reason(self) -> str:
        """The gravest sentence of all ways."""
        reasons = [reason for found in self.by_mode.values() for reason in found.reasons]
        return max(reasons, key=lambda reason: reason.verdict.rank).text if reasons else ""

    @property
    def alike(self) -> Assessment | None:
        """The assessment of any way, when the verdict is the same for all."""
        ways = list(self.by_mode.values())
        return ways[0] if len({way.verdict for way in ways}) == 1 else None

    @property
    def questions(self) -> tuple[Any, ...]:
        """What must be asked before the answer can be better, each once."""
        asked = [question for found in self.by_mode.values() for question in found.questions]
        return tuple({question.fact: question for question in asked}.values())


def rule_book() -> RuleBook:
    """The active rules with the house's questions. Build it once a request."""
    rows = []
    for row in RuleRow.objects.filter(active=True).order_by("code"):
        facts = {field: getattr(row, field) for field in _RULE_FIELDS}
        facts["checked_on"] = row.checked_on.isoformat() if row.checked_on else None
        rows.append(facts)
    return rule_book_from_json(
        {
            "rules": rows,
            "questions": house.value("travel.questions"),
            "usual_longest_mm": house.value("travel.usual_longest_mm"),
        }
    )


def trip_of(call: Call) -> Trip:
    """Reshoot and stills are worn or used before the camera; whether a border is crossed nobody has recorded."""
    worn = call.purpose in {Call.Purpose.RESHOOT, Call.Purpose.STILLS}
    return Trip(to_be_worn=worn, crosses_border=None)


def facts_of(pieces: Iterable[Piece]) -> list[PieceFacts]:
    """What a journey asks of each piece; a fixed number of queries, however many pieces."""
    rows = list(pieces)
    ids = [piece.pk for piece in rows]
    materials, findings = materials_of(ids), findings_of(ids)
    kept, lost = kept_apart(ids), missing_ids(ids)
    usual = house.value("travel.usual_longest_mm")
    packs: dict[int, list[Pack]] = {}
    for pack in BatteryPack.objects.filter(piece__in=ids, removed_on=None):
        packs.setdefault(pack.piece_id, []).append(_pack(pack))
    return [
        PieceFacts(
            number=piece.number,
            kind=_kind_word(piece, usual),
            is_prop_weapon=True if piece.kind == Kinds.WEAPON else None,
            materials=frozenset(materials.get(piece.pk, ())),
            made_year=made_year(piece),
            hazards=tuple(findings.get(piece.pk, ())),
            packs=tuple(packs.get(piece.pk, ())),
            wear_decision=next((d.decision for d in piece.wear_decisions.all() if d.current), None),
            longest_mm=_longest(piece),
            weight_g=piece.weight_g,
            pest_work_open=bool(kept[piece.pk].work),
            in_quarantine=kept[piece.pk].until is not None,
            not_found=piece.pk in lost,
        )
        for piece in rows
    ]


def pieces_to_judge(numbers: Collection[str]) -> list[Piece]:
    """The pieces of these numbers, with what `facts_of` reads, in order of number."""
    found = Piece.objects.filter(number__in=numbers).select_related("production", "role", "slot")
    return list(found.prefetch_related("measures", "wear_decisions").order_by("number"))


def judge_pieces(pieces: Collection[Piece], trip: Trip) -> list[Answer]:
    """The answers for all pieces, the worst first."""
    book = rule_book()
    answers = []
    for piece, facts in zip(pieces, facts_of(pieces), strict=True):
        by_mode = judge_all(facts, trip, book)
        answers.append(Answer(piece, by_mode, summary(by_mode)))
    order = {Summary.STAYS: 0, Summary.ROAD_ONLY: 1, Summary.MAY_FLY: 2}
    return sorted(answers, key=lambda answer: (order[answer.summary], answer.piece.number))


def travel_facts(piece: Piece) -> Answer:
    """The answer for one piece, as for a reshoot; for the piece's own page."""
    return judge_pieces(pieces_to_judge([piece.number]), Trip(to_be_worn=True, crosses_border=None))[0]


def as_json(answers: Iterable[Answer]) -> list[dict[str, Any]]:
    """The documented rows of the `travel` command: piece, mode, verdict, reasons, rules, sources, and the summary."""
    rows = []
    for answer in answers:
        for found in answer.by_mode.values():
            rows.append(found.as_json() | {"summary": answer.summary.value})
    return rows


def _pack(row: BatteryPack) -> Pack:
    return Pack(
        chemistry=None if row.chemistry == BatteryPack.Chemistry.UNKNOWN else row.chemistry,
        energy_wh=None if row.energy_wh is None else float(row.energy_wh),
        state=row.state,
        placed=None if row.placed == BatteryPack.Placed.UNKNOWN else row.placed,
        lithium_g=None if row.lithium_g is None else float(row.lithium_g),
        charge_pct=row.charge_percent,
    )


def _kind_word(piece: Piece, usual: Collection[str]) -> str:
    """The slot's word where the house has a usual length for it ("lamp"), else the kind's ("prop")."""
    slot = piece.slot.code.replace("_", " ").lower() if piece.slot is not None else ""
    return slot if slot in usual else piece.kind


def _longest(piece: Piece) -> int | None:
    """The longest known side, packed or measured; None when nothing was measured."""
    packed = [piece.packed_length_mm, piece.packed_width_mm, piece.packed_height_mm]
    measured = [m.value_mm for m in piece.measures.all() if m.point in _LONG_POINTS]
    return max((side for side in [*packed, *measured] if side is not None), default=None)
