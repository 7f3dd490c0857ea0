"""What is short and what to make: per slot the shortage and the bodies behind it, and a sheet for the workroom."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from catalog.fitting.calc.bands import mm_to_eu
from catalog.fitting.calc.body import POINT_WORDS
from catalog.fitting.calc.plan_types import PlanPiece
from catalog.fitting.calc.shortage import Shortage
from catalog.fitting.calc.shortage_bands import SizeBand, short_bands
from catalog.fitting.calc.shortage_makes import MakeNeed, make_needs
from catalog.fitting.deadline_queries import order_by
from catalog.fitting.problem_queries import calc_piece
from catalog.fitting.queries import DryRun, Ground, ground_of, problem_of, with_making_too
from catalog.fitting.queries import dry_run as dry_run_on
from catalog.loans.models import Call, Wearer
from catalog.pieces.calc.kinds import POINTS
from catalog.pieces.models import Slot


@dataclass(frozen=True, slots=True)
class ShortSlot:
    """A slot that not everybody can have; `band` names the bodies between two sizes that share too few pieces."""

    slot: Slot
    shortage: Shortage
    band: SizeBand | None

    @property
    def band_words(self) -> str:
        """The body point of the band, in words."""
        return "" if self.band is None else POINT_WORDS.get(self.band.point, self.band.point.replace("_", " "))

    @property
    def too_few(self) -> bool:
        """Whether there are simply too few pieces, whatever the sizes: the band is everybody."""
        return self.band is not None and self.band.people == self.shortage.people


@dataclass(frozen=True, slots=True)
class ToMake:
    """One piece for the workroom: for whom, after which piece, to which measures, and the last day to order."""

    slot: Slot
    wearer: Wearer
    need: MakeNeed
    order_by: date | None
    late: bool
    goes_with: tuple[str, ...] = ()

    @property
    def measures(self) -> list[tuple[str, int | None, int | None, int | None, tuple[str, ...], tuple[str, ...]]]:
        """Words of the garment's point, best value, lowest, highest, body points missing, EU sizes of a shoe or ""."""
        return [
            (_word(m.garment_point), m.value, m.low, m.high, m.missing, _shoe(m.garment_point, m.low, m.high))
            for m in self.need.measures
        ]


def _shoe(point: str, low: int | None, high: int | None) -> tuple[str, ...]:
    """A last length is told as the EU sizes that stand on the shoe."""
    if point != "shoe_eu" or low is None:
        return ()
    return f"{mm_to_eu(low):g}", f"{mm_to_eu(high):g}" if high is not None else ""


def _word(point: str) -> str:
    return POINTS[point].word if point in POINTS else point.replace("_", " ")


@dataclass(frozen=True, slots=True)
class Short:
    """The answer: the dry run as recorded, the same with making, what is short, and what to make."""

    run: DryRun
    making: DryRun
    slots: tuple[ShortSlot, ...]
    make: tuple[ToMake, ...]

    @property
    def first_order(self) -> date | None:
        """The earliest last day on which anything has to be ordered."""
        return min((row.order_by for row in self.make if row.order_by), default=None)


def short_of(call: Call, *, found: Iterable[str] = (), released: Iterable[str] = ()) -> Short:
    """Work out what is short for a call as recorded or supposed. Raises PlanError when the planner cannot answer."""
    ground = ground_of(call)
    run = dry_run_on(call, ground=ground, found=found, released=released)
    making = with_making_too(run, ground)
    bands = {(band.role, band.slot): band for band in short_bands(run.problem, _sizes(ground))}
    slots = tuple(
        ShortSlot(run.slots[row.role, row.slot], row, bands.get((row.role, row.slot)))
        for row in run.shortages
        if row.short_by
    )
    return Short(run, making, slots, tuple(_make(making, need) for need in _needs(ground, making)))


def _sizes(ground: Ground) -> dict[str, Mapping[str, int]]:
    """What is taped of everybody; a card is no ground to cut on."""
    return {number: body.known for number, body in ground.bodies.items()}


def _needs(ground: Ground, making: DryRun) -> tuple[MakeNeed, ...]:
    references: list[PlanPiece] = [calc_piece(row.piece) for row in making.stock]
    return make_needs(
        problem_of(ground, making.stock, with_making=True),
        making.plan.make,
        sizes=_sizes(ground),
        bands={key: ground.bands.of(slot) for key, slot in ground.slots.items()},
        references=references,
    )


def _make(making: DryRun, need: MakeNeed) -> ToMake:
    slot = making.slots[need.role, need.slot]
    day = order_by(making.call, slot, making.question.closed)
    late = day is not None and day < making.question.today
    return ToMake(slot, making.wearers[need.wearer], need, day, late, _goes_with(making, need))


def _goes_with(making: DryRun, need: MakeNeed) -> tuple[str, ...]:
    """What the piece must match of the rest of its outfit: "ring A, as LHS-1", or that two made pieces agree."""
    role = next(role for role in making.problem.roles if role.code == need.role)
    pieces = {piece.code: piece for piece in making.problem.pieces}
    own = [line for line in making.plan.assignments if line.wearer == need.wearer and line.slot != need.slot]
    told = []
    for group in role.groups_of(need.slot):
        partners = [line for line in own if line.slot in group.slots]
        worn = [line.piece for line in partners if line.piece is not None]
        name = making.problem.word(group.name)
        if worn:
            told.append(f"{name} {pieces[worn[0]].values.get(group.name, 'not recorded')}, as {worn[0]}")
        elif partners:
            told.append(f"one {name} with the {making.problem.word(partners[0].slot)} that is made too")
    return tuple(told)
