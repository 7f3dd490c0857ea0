"""Rows turned into the planner's problem: roles, candidates, bands, exclusions."""

from collections.abc import Collection, Iterable, Mapping

from catalog.care.garment_queries import sizes_of
from catalog.fitting.calc.bands import Band, Garment, Scale
from catalog.fitting.calc.body import Body
from catalog.fitting.calc.exclusions import ExclusionRule as CalcExclusionRule
from catalog.fitting.calc.exclusions import Makeup, may_make
from catalog.fitting.calc.fit import Candidate, Fit
from catalog.fitting.calc.fit_many import fit_many, rail_of
from catalog.fitting.calc.plan_types import Group, Lock, PlanPiece, PlanWearer, Problem
from catalog.fitting.calc.plan_types import Role as CalcRole
from catalog.fitting.models import EaseBand, ExclusionRule
from catalog.fitting.stock_queries import StockPiece
from catalog.pieces.models import Piece, Role, Slot


def exclusion_rules() -> list[CalcExclusionRule]:
    """What each exclusion rules out, as the house decided."""
    return [
        CalcExclusionRule(
            row.code,
            row.words,
            frozenset(row.materials),
            frozenset(row.hazards),
            frozenset(row.kinds),
            frozenset(row.spared_kinds),
        )
        for row in ExclusionRule.objects.all()
    ]


class Bands:
    """The ease bands of some slots: a slot's own, else those of its kind, else none at all (the house has no rule)."""

    def __init__(self, slots: Iterable[Slot]) -> None:
        self._slots = list(slots)
        self._by_slot: dict[int, list[Band]] = {}
        self._by_kind: dict[str, list[Band]] = {}
        for row in EaseBand.objects.all():
            band = Band(
                row.body_point,
                row.garment_point,
                row.min_ease,
                row.max_ease,
                row.uses_let_out,
                Scale(row.scale),
                row.good_min,
                row.good_max,
            )
            if row.slot_id is not None:
                self._by_slot.setdefault(row.slot_id, []).append(band)
            else:
                self._by_kind.setdefault(row.kind, []).append(band)

    def of(self, slot: Slot) -> tuple[Band, ...] | None:
        """The slot's bands; () when the slot is open to anybody; None when the house has said nothing."""
        if slot.fits_anybody:
            return ()
        found = self._by_slot.get(slot.pk) or self._by_kind.get(slot.kind)
        return tuple(found) if found else None


def calc_role(role: Role, slots: Collection[Slot], need: int, *, close_up: bool = False) -> CalcRole:
    """A role with its required slots; a match group counts when at least two of them share it.

    While a role has no required slot nothing says when somebody is dressed in it, so nobody can be: its need is 0.
    """
    required = [slot for slot in slots if slot.role_id == role.pk and slot.required]
    names = sorted({slot.match_group for slot in required if slot.match_group})
    groups = [Group(name, tuple(slot.code for slot in required if slot.match_group == name)) for name in names]
    return CalcRole(
        role.code,
        need if required else 0,
        tuple(slot.code for slot in required),
        tuple(group for group in groups if len(group.slots) > 1),
        close_up=close_up,
    )


def calc_piece(piece: Piece) -> PlanPiece:
    """A piece as the planner sees it."""
    if piece.role is None or piece.slot is None:
        raise ValueError(f"{piece.number} has no slot.")
    return PlanPiece(
        piece.number,
        piece.role.code,
        piece.slot.code,
        # Only originals make a whole original set.
        piece.set.code if piece.set is not None and piece.origin == Piece.Origin.ORIGINAL else None,
        {match.group: match.value for match in piece.matches.all()},
        original=piece.origin == Piece.Origin.ORIGINAL,
    )


def candidate(piece: Piece, bands: Bands) -> Candidate:
    """A piece as the fit sees it: its bands, present sizes with what is left in the seams, materials and hazards."""
    now = sizes_of(piece.measures.all(), piece.size_changes)  # type: ignore[attr-defined]
    values = {point: size.present for point, size in now.items() if size.present is not None}
    let_out = {point: size.left for point, size in now.items() if size.left is not None}
    materials = frozenset(material.name for material in piece.materials.all())
    traits = frozenset(found.hazard for found in piece.current_hazards if found.state != "cleared")  # type: ignore[attr-defined]
    return Candidate(
        piece.number,
        bands.of(piece.slot) if piece.slot is not None else None,
        Garment(values, let_out),
        Makeup(piece.kind, materials or None, traits),
    )


def fits_of(
    bodies: Mapping[str, Body], candidates: Collection[Candidate], rules: list[CalcExclusionRule]
) -> dict[tuple[str, str], Fit]:
    """Every body against every piece."""
    rail = rail_of(list(candidates))
    return {
        (number, piece.code): found
        for number, body in bodies.items()
        for piece, found in zip(rail.pieces, fit_many(body, rail, rules), strict=True)
    }


def makeable(
    bodies: Mapping[str, Body], slots: Collection[Slot], rules: list[CalcExclusionRule]
) -> frozenset[tuple[str, str, str]]:
    """Who may wear a newly made piece of which slot: it is made of the slot's usual materials."""
    allowed = set()
    for slot in slots:
        usual = frozenset(material.name for material in slot.usual_materials.all())
        makeup = Makeup(slot.kind, usual or None)
        for number, body in bodies.items():
            if may_make(body.exclusions, makeup, rules):
                allowed.add((number, slot.role.code, slot.code))
    return frozenset(allowed)


def build(
    *,
    roles: list[CalcRole],
    wearers: list[PlanWearer],
    stock: list[StockPiece],
    fits: Mapping[tuple[str, str], Fit],
    may_be_made: frozenset[tuple[str, str, str]],
    names: Mapping[str, str],
    with_making: bool,
    locks: tuple[Lock, ...] = (),
) -> Problem:
    """The planner's problem from the pieces that can be used."""
    pieces = tuple(calc_piece(row.piece) for row in stock if row.usable)
    return Problem(
        roles=tuple(roles),
        wearers=tuple(wearers),
        pieces=pieces,
        fits=fits,
        locks=locks,
        with_making=with_making,
        makeable=may_be_made,
        names=names,
    )
