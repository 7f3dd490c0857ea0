"""Pieces turned into facts, rule rows into a book, and the verdicts made from both."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.db.models import Q

from catalog.care.apart_queries import kept_apart
from catalog.care.models import BatteryPack, WildPart
from catalog.care.queries import findings_of, materials_of
from catalog.core import clock, house
from catalog.loans.models import Call
from catalog.loans.queries import firm_clashes
from catalog.pieces.models import Piece
from catalog.pieces.production_models import Kinds
from catalog.pieces.queries import made_year
from catalog.pieces.value_queries import newest_values
from catalog.shipping.calc.facts import Mode, Pack, PieceFacts, Trip
from catalog.shipping.calc.facts import WildPart as Wild
from catalog.shipping.calc.journey import JourneyAnswer, judge_journey
from catalog.shipping.calc.routes import Route as Way
from catalog.shipping.calc.routes import trip_along
from catalog.shipping.calc.rules import RuleBook, rule_book_from_json
from catalog.shipping.calc.travel import Assessment, judge_all, summary
from catalog.shipping.calc.verdicts import Summary
from catalog.shipping.models import Route, RuleRow
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

    def among(self, modes: Iterable[Mode]) -> "Answer":
        """The same for these ways only; the summary stays that of all."""
        return replace(self, by_mode={mode: self.by_mode[mode] for mode in modes})

    @property
    def questions(self) -> tuple[Any, ...]:
        """What must be asked before the answer can be better, each once."""
        asked = [question for found in self.by_mode.values() for question in found.questions]
        return tuple({question.fact: question for question in asked}.values())


def rules_in_force(at: datetime | None = None) -> list[RuleRow]:
    """The rows in force now, or at a moment; a row that one of the house replaces is not among them."""
    rows = RuleRow.objects.filter(active=True)
    if at is not None:
        kept = Q(until__gt=at) | Q(until__isnull=True, active=True)
        rows = RuleRow.objects.filter(kept, since__lte=at)
    found = list(rows.order_by("code"))
    replaced = {row.replaces for row in found if row.replaces}
    return [row for row in found if row.code not in replaced]


def rule_book(at: datetime | None = None) -> RuleBook:
    """The rules in force, now or at a moment, with the house's questions. Build it once a request."""
    rows = []
    for row in rules_in_force(at):
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


def way_of(call: Call) -> Way | None:
    """The route somebody recorded for the call; None while nobody has."""
    row = Route.objects.filter(call=call).first()
    return None if row is None else Way(row.start, row.goal, tuple(row.through), row.comes_back, row.wood or None)


def trip_of(call: Call) -> Trip:
    """Reshoot and stills are worn or used before the camera; borders are those of the recorded route."""
    worn = call.purpose in {Call.Purpose.RESHOOT, Call.Purpose.STILLS}
    return trip_along(way_of(call), to_be_worn=worn, year=call.load_on.year)


def journey_of(call: Call) -> JourneyAnswer:
    """What the borders on the way ask of the whole shipment."""
    return judge_journey(trip_of(call), rule_book())


def facts_of(pieces: Iterable[Piece], call: Call | None = None) -> list[PieceFacts]:
    """What a journey asks of each piece; a fixed number of queries, however many pieces.

    With a call, a piece that another job holds firmly between its loading and its return counts as promised elsewhere.
    """
    rows = list(pieces)
    ids = [piece.pk for piece in rows]
    materials, findings = materials_of(ids), findings_of(ids)
    kept, lost = kept_apart(ids), missing_ids(ids)
    usual = house.value("travel.usual_longest_mm")
    promised = _promised(ids, call)
    wild, worth = _wild_parts(ids), _values(ids)
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
            wild=tuple(wild.get(piece.pk, ())),
            values=worth.get(piece.pk, ()),
            wear_decision=next((d.decision for d in piece.wear_decisions.all() if d.current), None),
            longest_mm=_longest(piece),
            weight_g=piece.weight_g,
            pest_work_open=bool(kept[piece.pk].work),
            in_quarantine=kept[piece.pk].until is not None,
            not_found=piece.pk in lost,
            held_elsewhere=piece.pk in promised,
        )
        for piece in rows
    ]


def pieces_to_judge(numbers: Collection[str]) -> list[Piece]:
    """The pieces of these numbers, with what `facts_of` reads, in order of number."""
    found = Piece.objects.filter(number__in=numbers).select_related("production", "role", "slot")
    return list(found.prefetch_related("measures", "wear_decisions").order_by("number"))


def judge_pieces(pieces: Collection[Piece], trip: Trip, call: Call | None = None) -> list[Answer]:
    """The answers for all pieces, the worst first; a trip without a year is of this one."""
    book = rule_book()
    if trip.year is None:
        trip = replace(trip, year=clock.today().year)
    answers = []
    for piece, facts in zip(pieces, facts_of(pieces, call), strict=True):
        by_mode = judge_all(facts, trip, book)
        answers.append(Answer(piece, by_mode, summary(by_mode)))
    order = {Summary.STAYS: 0, Summary.ROAD_ONLY: 1, Summary.MAY_FLY: 2}
    return sorted(answers, key=lambda answer: (order[answer.summary], answer.piece.number))


def travel_facts(piece: Piece) -> Answer:
    """The answer for one piece, as for a reshoot; for the piece's own page."""
    return judge_pieces(pieces_to_judge([piece.number]), Trip(to_be_worn=True))[0]


def as_json(answers: Iterable[Answer]) -> list[dict[str, Any]]:
    """The documented rows of the `travel` command: piece, mode, verdict, reasons, rules, sources, and the summary."""
    rows = []
    for answer in answers:
        for found in answer.by_mode.values():
            rows.append(found.as_json() | {"summary": answer.summary.value})
    return rows


def _promised(ids: list[int], call: Call | None) -> set[int]:
    if call is None:
        return set()
    return {clash.piece_id for clash in firm_clashes(ids, call.load_on, call.back_on, call=call)}


def _wild_parts(ids: list[int]) -> dict[int, list[Wild]]:
    parts: dict[int, list[Wild]] = {}
    for row in WildPart.objects.filter(piece__in=ids, gone_on=None):
        parts.setdefault(row.piece_id, []).append(
            Wild(
                group=row.group or None,
                listing=row.listing or None,
                obtained_year=row.obtained_year,
                share_pct=row.share_percent,
                wood_g=row.wood_g,
                farmed=row.farmed,
            )
        )
    return parts


def _values(ids: list[int]) -> dict[int, tuple[tuple[str, float], ...]]:
    rows = newest_values(Piece.objects.filter(pk__in=ids)).values_list("piece_id", "currency", "amount")
    return {piece_id: ((currency, float(amount)),) for piece_id, currency, amount in rows}


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
