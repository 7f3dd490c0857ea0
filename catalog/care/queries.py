"""What is read of care: whether pieces may be worn, what is dangerous in them, what is open."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from catalog.care.calc.hazards import resolved_hazards
from catalog.care.calc.wear import Decision, WearState, wear_of
from catalog.care.models import BatteryPack, HazardFinding, WearDecision
from catalog.pieces.models import Piece
from catalog.pieces.queries import made_year


def wear_state(pieces: Iterable[Piece]) -> dict[int, WearState]:
    """For each piece, by its pk: may it be worn, and why not. Four queries, however many pieces.

    Hand in pieces with `production` selected: their years are read. Beyond that nothing is asked a piece.
    """
    rows = list(pieces)
    ids = [piece.pk for piece in rows]
    materials, findings, decisions = materials_of(ids), findings_of(ids), _decisions(ids)
    damaged = set(
        BatteryPack.objects.filter(piece__in=ids, state=BatteryPack.State.DAMAGED, removed_on__isnull=True).values_list(
            "piece", flat=True
        )
    )
    return {
        piece.pk: wear_of(
            decisions.get(piece.pk),
            resolved_hazards(
                materials.get(piece.pk, ()), findings.get(piece.pk, ()), kind=piece.kind, made_year=made_year(piece)
            ),
            materials_known=bool(materials.get(piece.pk)),
            damaged_pack=piece.pk in damaged,
        )
        for piece in rows
    }


def wear_blockers(piece: Piece) -> tuple[str, ...]:
    """Sentences that say why one piece may not be worn; empty when it may, now, with limits or after its repair."""
    return wear_state([piece])[piece.pk].blockers


def materials_of(piece_ids: Iterable[int]) -> Mapping[int, list[str]]:
    """Names of the materials of each piece; a piece without recorded materials is missing from the answer."""
    named: dict[int, list[str]] = defaultdict(list)
    through = Piece.materials.through.objects.filter(piece__in=list(piece_ids))
    for piece_id, name in through.values_list("piece_id", "material__name"):
        named[piece_id].append(name)
    return dict(named)


def findings_of(piece_ids: Iterable[int]) -> Mapping[int, list[tuple[str, str]]]:
    """The current finding of each hazard of each piece, as (code, state)."""
    found: dict[int, list[tuple[str, str]]] = defaultdict(list)
    rows = HazardFinding.objects.filter(piece__in=list(piece_ids), current=True)
    for piece_id, hazard, state in rows.order_by("id").values_list("piece_id", "hazard", "state"):
        found[piece_id].append((hazard, state))
    return dict(found)


def _decisions(piece_ids: list[int]) -> Mapping[int, Decision]:
    rows: Iterable[dict[str, Any]] = WearDecision.objects.filter(piece__in=piece_ids, current=True).values(
        "piece_id",
        "decision",
        "limits",
        "minutes_limit",
        "no_close_up",
        "repair",
        "repair_days",
        "repair_day_kind",
    )
    return {row["piece_id"]: Decision(**{key: row[key] for key in row if key != "piece_id"}) for row in rows}
