"""What must not be washed, each with the care that takes nothing off."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from catalog.care.calc.evidence import Told, allowed_instead
from catalog.care.calc.hazards import CLEARED, resolved_hazards
from catalog.care.calc.pest_hold import METHODS, Stuff, against
from catalog.care.evidence_queries import told_of
from catalog.care.models import BatteryPack
from catalog.care.queries import findings_of
from catalog.pieces.models import Piece
from catalog.pieces.queries import made_year

_POISONS = ("old_poison", "mercury", "asbestos", "radium")


@dataclass(frozen=True, slots=True)
class Unwashed:
    """A piece that must not be washed: why, and what may be done instead."""

    piece: Piece
    told: Told
    instead: tuple[str, ...]


def with_care(pieces: Iterable[Piece]) -> list[Unwashed]:
    """Each with why and with the care that takes nothing off; a fixed number of queries.

    Hand in pieces with `production` selected and `materials` prefetched.
    """
    rows = list(pieces)
    ids = [piece.pk for piece in rows]
    told, findings = told_of(ids), findings_of(ids)
    packs = set(BatteryPack.objects.filter(piece__in=ids, removed_on=None).values_list("piece", flat=True))
    return [Unwashed(piece, told[piece.pk], _instead(piece, findings, packs)) for piece in rows]


def _instead(piece: Piece, findings: Mapping[int, list[tuple[str, str]]], packs: set[int]) -> tuple[str, ...]:
    stuff = Stuff(tuple((row.name, row.family) for row in piece.materials.all()), piece.weight_g, piece.pk in packs)
    names = [name for name, _ in stuff.materials]
    states = resolved_hazards(names, findings.get(piece.pk, ()), kind=piece.kind, made_year=made_year(piece))
    return allowed_instead(
        stuff.families,
        cold=not against(METHODS["freeze20"], stuff),
        airless=not against(METHODS["oxygen05"], stuff),
        poison=any(states.get(code, CLEARED) != CLEARED for code in _POISONS),
    )
