"""What must be made: how many pieces in all, for whom, after which piece, and to which measures."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment

from catalog.fitting.calc.bands import Band, Scale, body_eu, eu_to_mm
from catalog.fitting.calc.fit import Reason, Verdict
from catalog.fitting.calc.plan_types import Make, PlanPiece, Problem
from catalog.fitting.calc.shortage_graph import SlotGraph, slot_graphs


@dataclass(frozen=True, slots=True)
class SpecMeasure:
    """A measure of the piece to be made: best made to `value`, and wearable from low to high (mm; None: open).

    `value` is None while the body point is not known (`missing` names it), or when the house's bands contradict
    each other for this body (`missing` is empty then).
    """

    garment_point: str
    value: int | None
    low: int | None
    high: int | None
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MakeNeed:
    """A piece to be made for one wearer. `reference`: the piece to make it after; None when there is none."""

    role: str
    slot: str
    wearer: str
    reference: str | None
    after: str
    measures: tuple[SpecMeasure, ...]


@dataclass(frozen=True, slots=True)
class MakeCount:
    """To give every performer who may play the role a piece of this slot, `count` must be made, no fewer.

    `for_whom` are those who go without when the others wear what fits them best. `barred` of them may not wear a newly
    made piece either: for them making does not help.
    """

    role: str
    slot: str
    count: int
    for_whom: tuple[str, ...]
    barred: tuple[str, ...]


def make_counts(problem: Problem) -> tuple[MakeCount, ...]:
    """Every slot of every role asked for. Slots do not depend on each other here, so their counts add up exactly.

    Match groups are not looked at: where pieces must match, the plan with making may need more. Where more people than
    needed may play a role, or several roles, the plan with making says who and how many.
    """
    found = []
    for (role, slot), graph in slot_graphs(problem).items():
        may = [(problem.wearers[number].code, role.code, slot) in problem.makeable for number in graph.wearers.tolist()]
        without = _without(graph, np.array(may, dtype=np.bool_))
        codes = [problem.wearers[int(graph.wearers[row])].code for row in without]
        barred = tuple(code for code, row in zip(codes, without, strict=True) if not may[row])
        found.append(MakeCount(role.code, slot, graph.deficiency, tuple(codes), barred))
    return tuple(found)


def _without(graph: SlotGraph, may_make: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> list[int]:
    """Rows left over when most people are served, of those most for whom nothing may be made, and then by fit."""
    if not graph.deficiency:
        return []
    if not graph.pieces.size:
        return list(range(len(graph.wearers)))
    scores = graph.scores.toarray().astype(np.float64)
    people = len(graph.wearers)
    barred_first = (float(scores.max()) + 1) * people
    largest_first = (barred_first + 1) * (people + 1)
    worth = np.where(scores > 0, scores + largest_first + np.where(may_make, 0.0, barred_first)[:, None], 0.0)
    rows, columns = linear_sum_assignment(worth, maximize=True)
    served = {int(row) for row, column in zip(rows, columns, strict=True) if scores[row, column] > 0}
    return [row for row in range(people) if row not in served]


def make_needs(
    problem: Problem,
    makes: Iterable[Make],
    *,
    sizes: Mapping[str, Mapping[str, int]],
    bands: Mapping[tuple[str, str], tuple[Band, ...] | None],
    references: Iterable[PlanPiece] | None = None,
) -> tuple[MakeNeed, ...]:
    """What to hand to the workroom for each piece a plan makes (or `make_counts` asks for).

    `sizes`: known ones by wearer. `bands`: the good range by (role, slot). `references`: pieces to make it after, also
    those that cannot be worn any more; None: the call's own.
    """
    stock = list(problem.pieces if references is None else references)
    found = []
    for make in makes:
        own = [piece for piece in stock if (piece.role, piece.slot) == (make.role, make.slot)]
        piece = min(own, key=lambda one: _distance(problem, make.wearer, one), default=None)
        after = "no piece of this slot is recorded to make it after"
        if piece is not None:
            what = "the original" if piece.original else "the piece (no original is recorded)"
            after = f"after {piece.code}, {what} that comes nearest to fitting"
        measures = spec(bands.get((make.role, make.slot)) or (), sizes.get(make.wearer, {}))
        found.append(
            MakeNeed(make.role, make.slot, make.wearer, piece.code if piece is not None else None, after, measures)
        )
    return tuple(found)


def _distance(problem: Problem, wearer: str, piece: PlanPiece) -> tuple[bool, int, int, str]:
    """Originals first; of those what fits, then what misses by least; what nobody judged comes last."""
    fit = problem.fits.get((wearer, piece.code))
    if fit is None:
        rank = 4
    elif fit.verdict is Verdict.YES:
        rank = 0
    elif fit.verdict is Verdict.UNKNOWN:
        rank = 1
    else:
        rank = 3 if fit.reason is Reason.EXCLUSION else 2
    return not piece.original, rank, fit.miss if fit is not None else 0, piece.code


def spec(bands: Iterable[Band], sizes: Mapping[str, int]) -> tuple[SpecMeasure, ...]:
    """The measures of a piece for a body: body measure plus ease, the middle of where it sits well or is wearable."""
    by_point: dict[str, list[Band]] = {}
    for band in bands:
        by_point.setdefault(band.garment_point, []).append(band)
    return tuple(_measure(point, own, sizes) for point, own in by_point.items())


def _measure(point: str, bands: list[Band], sizes: Mapping[str, int]) -> SpecMeasure:
    missing = tuple(dict.fromkeys(band.body_point for band in bands if sizes.get(band.body_point) is None))
    if missing:
        return SpecMeasure(point, None, None, None, missing)
    lows = [_eased(band, sizes[band.body_point], band.min_ease) for band in bands if band.min_ease is not None]
    highs = [_eased(band, sizes[band.body_point], band.max_ease) for band in bands if band.max_ease is not None]
    low, high = max(lows, default=None), min(highs, default=None)
    if low is not None and high is not None and low > high:
        return SpecMeasure(point, None, low, high)
    return SpecMeasure(point, _best(bands, sizes, low, high), low, high)


def _best(bands: list[Band], sizes: Mapping[str, int], low: int | None, high: int | None) -> int | None:
    """The middle of where it sits well, if the house has said so and it can be worn there; else of what is wearable.

    A shoe is made in the size that the foot asks for, the least that can be worn.
    """
    if low is not None and any(band.scale is Scale.EU_SHOE for band in bands):
        return low
    good = [band for band in bands if band.good_min is not None and band.good_max is not None]
    least = max((_eased(band, sizes[band.body_point], band.good_min or 0) for band in good), default=low)
    most = min((_eased(band, sizes[band.body_point], band.good_max or 0) for band in good), default=high)
    if least is not None and most is not None and least <= most:
        middle = (least + most) // 2
        return max(low if low is not None else middle, min(high if high is not None else middle, middle))
    if low is not None and high is not None:
        return (low + high) // 2
    return low if low is not None else high


def _eased(band: Band, body: int, ease: int) -> int:
    """The garment measure with exactly this ease."""
    return eu_to_mm(body_eu(body) + ease) if band.scale is Scale.EU_SHOE else body + ease
