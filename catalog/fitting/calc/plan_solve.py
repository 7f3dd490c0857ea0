"""One aim after the other, each proven: a linear program first, then a search among the columns that still matter.

A column's price says what it can add at most. With prices y >= 0 on the rows (free on equations), no plan is worth more
than `high @ y + sum(max(0, gain))`, where `gain = worth - matrix.T @ y` and every column lies between 0 and 1 (weak
duality): a bound that holds for any y, worked out here over *all* columns, also those the linear program never saw.
A plan that takes column j is worth at most `bound - |gain j|` when the gain is negative. So once

    bound - |gain j| < best plan found + 1

no better plan can take column j (worths are whole numbers), and a search without such columns loses nothing.
"""

from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csc_array, csr_array, vstack

from catalog.fitting.calc.plan_model import Model
from catalog.fitting.calc.plan_pairs import Bools, Ints
from catalog.fitting.calc.plan_types import AimResult, Progress
from catalog.fitting.calc.survey import Floats

# Up to so many columns the whole program goes to the solver at once: it proves those in a moment.
DIRECT_COLUMNS = 12_000
# How many pairs of each place and of each piece the first linear program sees, the best fitting ones; of each place
# fewer where there are so many places that they would pass MOST_FIRST together.
FIRST_PAIRS = 10
MOST_FIRST = 60_000
# At most so many columns with a gain are added from one linear program to the next.
MOST_ADDED = 20_000
# The first search looks at the most gainful columns only; each next one at four times as many.
FIRST_SEARCH = 3_000
WHOLE = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Relaxed:
    """What the linear program says: nothing is worth more than `bound`; `values` its own optimum, often a real plan."""

    bound: float
    gain: Floats
    values: Floats


class Solver:
    """Holds the best plan so far; each reached aim becomes a row, so no later aim can cost an earlier one."""

    def __init__(
        self,
        model: Model,
        start: Floats,
        *,
        time_limit_s: float | None = None,
        progress: Callable[[Progress], None] | None = None,
    ) -> None:
        self.model = model
        self.matrix, self.low, self.high = model.matrix, model.low, model.high
        # Should the start ever break a row, the search begins with nobody dressed, which always is a plan.
        self.values = start if self._holds(start) else np.zeros(model.size)
        self.ends = None if time_limit_s is None else monotonic() + time_limit_s
        self.tell = progress or (lambda _: None)
        self.active = _first_columns(model)
        self.ties = _ties(model)

    def reach(self, name: str, worth: Floats, *, at_most: float, most: bool = True, ties: bool = True) -> AimResult:
        """Make worth @ x (whole numbers) as large, or as small, as the earlier aims allow, and hold it there.

        `at_most` is a bound known beforehand (at least, for the smallest). When the time runs out the best plan so far
        stays, and the bound says how much better a plan could be at most.
        """
        sign = 1 if most else -1
        aim = sign * worth
        bound = min(sign * at_most, float(np.maximum(aim, 0).sum()))
        self._say(name, sign, aim, bound)
        if self._value(aim) < bound:
            if self.model.size <= DIRECT_COLUMNS:
                bound = min(bound, self._direct(aim, ties=ties))
            else:
                bound = min(bound, self._priced(aim, bound, ties=ties, tell=lambda b: self._say(name, sign, aim, b)))
        value = self._value(aim)
        bound = max(bound, value)
        self._say(name, sign, aim, bound)
        self.matrix = csc_array(vstack([self.matrix, csr_array(aim[None, :])]))
        self.low, self.high = np.append(self.low, value), np.append(self.high, np.inf)
        return AimResult(name, int(sign * value), int(sign * bound), (bound - value) / max(1, abs(value)))

    def _say(self, name: str, sign: int, aim: Floats, bound: float) -> None:
        self.tell(Progress(name, int(sign * bound), int(sign * self._value(aim))))

    def _value(self, aim: Floats) -> int:
        return round(float(np.sum(aim, where=self.values > 0.5)))

    def _is_fit(self, aim: Floats) -> bool:
        """Whether the aim is the fit itself, which needs no ties."""
        return bool(np.any(aim[self.model.block(1)] * self.ties[self.model.block(1)]))

    def _left(self) -> dict[str, float]:
        """The solver's option for the time that is left; none when there is no limit."""
        return {} if self.ends is None else {"time_limit": max(0.01, self.ends - monotonic())}

    def _over(self) -> bool:
        return self.ends is not None and monotonic() >= self.ends

    def _take(self, values: Floats, aim: Floats) -> None:
        """Keep a better plan, after checking it against every row."""
        rounded = np.where(self.model.integral > 0, np.rint(values), values)
        if self._holds(rounded) and round(float(np.sum(aim, where=rounded > 0.5))) > self._value(aim):
            self.values = rounded

    def _holds(self, values: Floats) -> bool:
        """Whether every row holds."""
        sums = self.matrix @ values
        return bool(np.all(sums >= self.low - WHOLE) and np.all(sums <= self.high + WHOLE))

    # --- all at once -------------------------------------------------------------------------------------------------
    def _direct(self, aim: Floats, *, ties: bool) -> float:
        """The whole program in one search; the bound."""
        return self._search(aim, np.arange(self.model.size), ties=ties)

    def _search(self, aim: Floats, columns: Ints, *, ties: bool) -> float:
        """Search among these columns, keep what is better, and return the bound for plans of these columns alone.

        Among plans that reach the aim alike the fit scores choose, scaled so that all of them together count less than
        half of one: they cannot change the aim's value. They speed up the search where sets or making are at stake.
        """
        tied = ties and not self._is_fit(aim)
        # With ties in the sum a bound less than half of one away already proves the whole number: stop there. The sum
        # cannot exceed the worths together, so the gap, which is relative, is taken of those.
        enough = 0.45 / (1 + float(np.abs(aim).sum())) if tied else 0.0
        cost = -aim - (self.ties if tied else 0.0)
        result = milp(
            cost[columns],
            integrality=self.model.integral[columns],
            bounds=Bounds(0, 1),
            constraints=LinearConstraint(self.matrix[:, columns], self.low, self.high),
            options={"mip_rel_gap": enough, **self._left()},
        )
        if result.x is not None:
            found = np.zeros(self.model.size)
            found[columns] = result.x
            self._take(found, aim)
        bound = result.mip_dual_bound
        return np.inf if bound is None or not np.isfinite(bound) else float(np.floor(-bound + WHOLE))

    # --- linear program, then what is left ---------------------------------------------------------------------------
    def _priced(self, aim: Floats, known: float, *, ties: bool, tell: Callable[[float], None]) -> float:
        """The linear program over all columns; if its optimum is no plan, ever wider searches. Returns the bound."""
        relaxed = self._relax(aim if self._is_fit(aim) else aim + self.ties)
        if relaxed is None:
            return known
        bound = min(known, float(np.floor(relaxed.bound + WHOLE)))
        self._take(relaxed.values, aim)
        tell(bound)
        many = FIRST_SEARCH
        while self._value(aim) < bound and not self._over():
            slack = relaxed.bound - (self._value(aim) + 1) + WHOLE
            wanted = np.nonzero(relaxed.gain >= -slack)[0]
            complete = len(wanted) <= many
            if not complete:
                wanted = wanted[np.argsort(-relaxed.gain[wanted], kind="stable")[:many]]
            used = np.nonzero((self.values > 0) | (self.model.integral == 0))[0]
            inside = self._search(aim, np.union1d(wanted, used), ties=ties)
            if complete:
                bound = min(bound, max(inside, self._value(aim)))
                tell(bound)
                break
            tell(bound)
            many *= 4
        return bound

    def _relax(self, aim: Floats) -> Relaxed | None:
        """Solve the linear program on few columns, add those with a gain, repeat until none has any. None: no time."""
        equal = self.low == self.high
        upper = np.isfinite(self.high) & ~equal
        lower = np.isfinite(self.low) & ~equal
        by_row = csr_array(self.matrix)
        best: Relaxed | None = None
        while not self._over():
            columns = np.nonzero(self.active | (self.values > 0))[0]
            some = csc_array(self.matrix[:, columns]).tocsr()
            result = linprog(
                -aim[columns],
                A_ub=vstack([some[upper], -some[lower]]).tocsc(),
                b_ub=np.concatenate([self.high[upper], -self.low[lower]]),
                A_eq=some[equal].tocsc(),
                b_eq=self.low[equal],
                bounds=(0, 1),
                method="highs-ds",
                options=self._left(),
            )
            if result.status != 0:
                break
            prices = _prices(result, equal, upper, lower)
            gain = aim - by_row.T @ prices
            ends = np.where(prices >= 0, np.where(np.isfinite(self.high), self.high, 0), 0)
            ends = np.where(prices < 0, np.where(np.isfinite(self.low), self.low, 0), ends)
            bound = float(prices @ ends + np.maximum(gain, 0).sum())
            values = np.zeros(self.model.size)
            values[columns] = result.x
            if best is None or bound <= best.bound:
                best = Relaxed(bound, gain, values)
            missed = np.nonzero((gain > 1e-7) & ~self.active)[0]
            if (
                not len(missed)
                or bound < self._value(aim) + 1 - WHOLE
                or np.floor(bound + WHOLE) <= -result.fun + WHOLE
            ):
                break
            if len(missed) > MOST_ADDED:
                missed = missed[np.argsort(-gain[missed], kind="stable")[:MOST_ADDED]]
            self.active[missed] = True
        return best


def _prices(result: object, equal: Bools, upper: Bools, lower: Bools) -> Floats:
    """A price per row from the linear program's marginals, of the sign that makes any bound hold."""
    prices = np.zeros(len(equal))
    most = int(upper.sum())
    marginals = result.ineqlin.marginals  # type: ignore[attr-defined]
    prices[equal] = -result.eqlin.marginals  # type: ignore[attr-defined]
    prices[upper] = np.maximum(0.0, -marginals[:most])
    prices[lower] += np.minimum(0.0, marginals[most:])
    return prices


def _ties(model: Model) -> Floats:
    """The fit scores, scaled so that those of a whole plan add up to less than half of one."""
    pairs = model.pairs
    best = np.zeros(len(model.problem.pieces))
    np.maximum.at(best, pairs.piece, pairs.score)
    # A piece is used once at most, so the best score of each piece bounds what all of them can sum to.
    return model.count(pairs=pairs.score.astype(np.float64)) * (0.49 / max(1.0, float(best.sum())))


def _first_columns(model: Model) -> Bools:
    """All columns but pairs, and of those the best fitting of each place and of each piece."""
    active = np.ones(model.size, dtype=np.bool_)
    pairs = model.pairs
    by_place = max(1, min(FIRST_PAIRS, MOST_FIRST // max(1, len(pairs.place_slot))))
    leading = _leading(pairs.place, pairs.score, by_place) | _leading(pairs.piece, pairs.score, FIRST_PAIRS)
    active[model.block(1)] = leading
    for _, members in model.wholes.tied:
        active[model.starts[1] + members] = True
    return active


def _leading(group: Ints, score: Ints, many: int) -> Bools:
    """The so many best scores of each group."""
    order = np.lexsort((-score, group))
    found = np.zeros(len(group), dtype=np.bool_)
    if len(group):
        new = np.concatenate([[0], np.nonzero(np.diff(group[order]))[0] + 1])
        rank = np.arange(len(group)) - np.repeat(new, np.diff(np.append(new, len(group))))
        found[order[rank < many]] = True
    return found
