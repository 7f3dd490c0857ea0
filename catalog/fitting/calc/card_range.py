"""The answer before anybody is taped: how many can be dressed, as a range, and the slots that decide."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from catalog.fitting.calc.chance import LIKELY_FROM, POSSIBLE_FROM
from catalog.fitting.calc.fit import Fit, Verdict
from catalog.fitting.calc.plan import plan
from catalog.fitting.calc.plan_types import Plan, Problem
from catalog.fitting.calc.shortage import shortages


@dataclass(frozen=True, slots=True)
class DecidingSlot:
    """A slot in which fewer are likely than possible to have a piece: taping for it narrows the range."""

    role: str
    slot: str
    sure: int
    possible: int
    sentence: str


@dataclass(frozen=True, slots=True)
class CardRange:
    """The plan with the likely pairs alone, the plan with every possible pair, and what lies between."""

    low: Plan
    high: Plan
    deciding: tuple[DecidingSlot, ...]


def at_least(problem: Problem, probability: float) -> Problem:
    """The same problem with every pair counted as fitting whose likelihood reaches the threshold. A no stays a no."""

    def lifted(fit: Fit) -> Fit:
        if fit.verdict is not Verdict.UNKNOWN or fit.probability is None or fit.probability < probability:
            return fit
        return replace(fit, verdict=Verdict.YES)

    return replace(problem, fits={pair: lifted(fit) for pair, fit in problem.fits.items()})


def card_range(
    problem: Problem,
    *,
    sure: float = LIKELY_FROM,
    possible: float = POSSIBLE_FROM,
    planner: Callable[[Problem], Plan] = plan,
) -> CardRange:
    """Plan twice, on pairs that are at least `sure` and at least `possible`. The widest slots come first.

    Thresholds are per pair: a shortlist, not a promise for whole outfits.
    """
    strict, loose = at_least(problem, sure), at_least(problem, possible)
    deciding = []
    for low, high in zip(shortages(strict), shortages(loose), strict=True):
        if low.matched < high.matched:
            said = f"{problem.word(low.role)}, {problem.word(low.slot)}: "
            said += f"{low.matched} likely, {high.matched} possible to have one that fits."
            deciding.append(DecidingSlot(low.role, low.slot, low.matched, high.matched, said))
    deciding.sort(key=lambda slot: (slot.sure - slot.possible, slot.sure))
    return CardRange(planner(strict), planner(loose), tuple(deciding))
