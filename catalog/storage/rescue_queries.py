"""What is carried out of a place first when it burns or floods: pieces in the order of their worth, and the trunks."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from catalog.care.calc.cautions import DAMAGED_PACK, hazard_name
from catalog.care.calc.hazards import CLEARED, resolved_hazards
from catalog.care.models import BatteryPack
from catalog.care.queries import findings_of, materials_of
from catalog.core import house
from catalog.pieces.models import Piece, PieceFile
from catalog.pieces.queries import made_year
from catalog.pieces.value_queries import newest_values
from catalog.storage import tree
from catalog.storage.calc.lifting import LiftMark, lift_mark
from catalog.storage.calc.walking import natural_key
from catalog.storage.models import Place, Standing, State

MOST = 300


@dataclass(frozen=True, slots=True)
class RescueRow:
    """One piece: where it lies, what it weighs, who lifts it, what the hand must know, its picture's stored name."""

    piece: Piece
    where: str
    lift: LiftMark
    hazards: tuple[str, ...]
    is_valued: bool
    picture: PieceFile | None


@dataclass(frozen=True, slots=True)
class RescueBox:
    """A container with its whole content."""

    place: Place
    where: str
    pieces: int
    known_g: int
    unweighed: int
    lift: LiftMark


@dataclass(frozen=True, slots=True)
class Rescue:
    """The list of one place. `left_out`: pieces beyond the most that a list holds."""

    rows: list[RescueRow]
    boxes: list[RescueBox]
    left_out: int

    @property
    def not_valued(self) -> int:
        """How many could not be put in order."""
        return sum(not row.is_valued for row in self.rows)


def rescue_of(place: Place) -> Rescue:
    """The pieces in store in the place, the most valuable first, those that nobody valued last; and its containers.

    A fixed number of queries. The worth itself is not told.
    """
    lying = Standing.objects.filter(place__in=tree.under(place), state=State.IN_STORE)
    standings = list(lying.select_related("piece__production", "place"))
    steps = tree.paths({one.place_id for one in standings if one.place_id})
    worth = {row.piece_id: row.amount for row in newest_values(Piece.objects.filter(standing__in=lying))}
    # Currencies are not weighed against each other: a house values in one, and a wrong order is better than none.
    standings.sort(key=lambda s: (s.piece_id not in worth, -worth.get(s.piece_id, 0), natural_key(s.piece.number)))
    told = standings[:MOST]
    ids = [one.piece_id for one in told]
    hazards, pictures, limit = _hazards([one.piece for one in told]), _pictures(ids), _limit()
    rows = [
        RescueRow(
            one.piece,
            _where(steps.get(one.place_id or 0, []), place),
            _lift(one.piece.weight_g, steps.get(one.place_id or 0, []), limit),
            hazards[one.piece_id],
            one.piece_id in worth,
            pictures.get(one.piece_id),
        )
        for one in told
    ]
    return Rescue(rows, _boxes(place, standings, steps, limit), len(standings) - len(told))


def _limit() -> int:
    return int(house.value("lift.one_person_g"))


def _lift(weight_g: int | None, steps: Iterable[Place], limit: int) -> LiftMark:
    above_reach = any(step.needs_steps for step in steps)
    return lift_mark(weight_g or 0, int(weight_g is None), limit, above_reach=above_reach)


def _where(steps: list[Place], inside: Place) -> str:
    """From the room inwards, the room itself left out: "B2-1, BOX-3"."""
    known = [step.pk for step in steps]
    inner = steps[known.index(inside.pk) + 1 :] if inside.pk in known else steps
    return ", ".join(step.code for step in inner if step.is_container or step is inner[-1]) or inside.code


def _hazards(pieces: list[Piece]) -> Mapping[int, tuple[str, ...]]:
    ids = [piece.pk for piece in pieces]
    materials, findings = materials_of(ids), findings_of(ids)
    packs = BatteryPack.objects.filter(piece__in=ids, removed_on__isnull=True).values_list("piece", "state")
    damaged = {piece for piece, state in packs if state == BatteryPack.State.DAMAGED}
    found = {}
    for piece in pieces:
        states = resolved_hazards(
            materials.get(piece.pk, ()), findings.get(piece.pk, ()), kind=piece.kind, made_year=made_year(piece)
        )
        said = [
            hazard_name(code) + ("" if state == "confirmed" else f" ({state})")
            for code, state in states.items()
            if state != CLEARED
        ]
        found[piece.pk] = (*((DAMAGED_PACK,) if piece.pk in damaged else ()), *said) or (
            () if materials.get(piece.pk) else ("materials not recorded",)
        )
    return found


def _pictures(piece_ids: list[int]) -> dict[int, PieceFile]:
    rows = PieceFile.objects.filter(piece__in=piece_ids).select_related("file").order_by("main", "-id")
    return {row.piece_id: row for row in rows}


def _boxes(place: Place, standings: list[Standing], steps: dict[int, list[Place]], limit: int) -> list[RescueBox]:
    """The outermost containers that hold anything; what lies in one inside another is carried with it."""
    every = [one for one in tree.under(place) if one.is_container and one.state == State.IN_STORE]
    paths = tree.paths([one.pk for one in every])
    outer = {box.pk: next(step for step in paths[box.pk] if step.is_container) for box in every}
    held: dict[int, list[Standing]] = {box.pk: [] for box in outer.values()}
    for one in standings:
        first = next((step for step in steps.get(one.place_id or 0, []) if step.is_container), None)
        if first is not None and first.pk in held:
            held[first.pk].append(one)
    tares: dict[int, list[int | None]] = {pk: [] for pk in held}
    for box in every:
        tares[outer[box.pk].pk].append(box.tare_g)
    boxes = []
    for box in every:
        if outer[box.pk].pk != box.pk or not held[box.pk]:
            continue
        weights = [one.piece.weight_g for one in held[box.pk]] + tares[box.pk]
        known, unknown = sum(w or 0 for w in weights), sum(w is None for w in weights)
        above = any(step.needs_steps for step in paths[box.pk])
        mark = lift_mark(known, unknown, limit, above_reach=above)
        boxes.append(RescueBox(box, _where(paths[box.pk][:-1], place), len(held[box.pk]), known, unknown, mark))
    return sorted(boxes, key=lambda row: natural_key(row.place.code))
