"""What another plan costs against the best one, in the words of the aims."""

from dataclasses import dataclass

from catalog.fitting.calc.plan_types import AimResult, Plan

# The aims by name, and below in their order with the words for one and for several.
DRESSED = "people dressed"
MADE = "pieces made"
WHOLE = "in one whole set"
ORIGINALS = "originals in close-up"
FIT = "fit"
_NOUNS = {
    DRESSED: ("performer dressed", "performers dressed"),
    MADE: ("piece made", "pieces made"),
    WHOLE: ("performer in one whole original set", "performers in one whole original set"),
    ORIGINALS: ("original in close-up", "originals in close-up"),
    FIT: ("point of fit", "points of fit"),
}


@dataclass(frozen=True, slots=True)
class Difference:
    """One aim: what the best plan reaches and what the other reaches."""

    aim: str
    best: int
    other: int

    @property
    def words(self) -> str:
        """As in: 2 fewer performers dressed."""
        by = abs(self.other - self.best)
        noun = _NOUNS[self.aim][by != 1]
        return f"{by} {'more' if self.other > self.best else 'fewer'} {noun}"


@dataclass(frozen=True, slots=True)
class Cost:
    """The aims in which two plans differ, first the one that counts most. None: the other is just as good.

    `sure`: both plans are proven. Otherwise a plan that costs less may exist.
    """

    differences: tuple[Difference, ...]
    sure: bool

    @property
    def free(self) -> bool:
        return not self.differences

    @property
    def sentence(self) -> str:
        said = "Costs nothing: just as many dressed, made and whole, and the fit as good."
        if self.differences:
            said = f"Against the best plan: {', '.join(one.words for one in self.differences)}."
        return said if self.sure else f"{said} The search was stopped early, so a better one may exist."


def cost_of(best: Plan, other: Plan) -> Cost:
    """Compare two plans of the same call, aim by aim. What is locked is no aim of its own here."""
    mine, theirs = _values(best.aims), _values(other.aims)
    found = [Difference(aim, mine.get(aim, 0), theirs.get(aim, 0)) for aim in _NOUNS]
    return Cost(tuple(one for one in found if one.best != one.other), sure=best.gap == 0 and other.gap == 0)


def _values(aims: tuple[AimResult, ...]) -> dict[str, int]:
    return {aim.name: aim.value for aim in aims}
