"""The next best plans, exact: what if this choice is not taken, if somebody else is dressed, if this is locked."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from catalog.fitting.calc.plan import plan
from catalog.fitting.calc.plan_cost import Cost, cost_of
from catalog.fitting.calc.plan_types import Assignment, Lock, NotAll, Plan, PlanError, Problem


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another plan and what it costs against the best one. `kept`: a lock that was asked for is part of it."""

    plan: Plan
    cost: Cost
    kept: bool = True


def second_best(
    problem: Problem, best: Plan, *, without: Sequence[Assignment] = (), time_limit_s: float | None = None
) -> Alternative:
    """The best plan in which at least one of these choices is not taken; none named: at least one of all of `best`.

    One choice alone: the best plan without it. A choice that only leaves somebody undressed counts as not taken, so
    there always is such a plan (at worst nobody is dressed). Raises PlanError when `best` has no choices, or for
    choices that `best` does not take.
    """
    choices = tuple(without) or best.assignments
    if not choices:
        raise PlanError("The plan dresses nobody, so there is no other one to compare with.")
    if strange := [line for line in choices if line not in best.assignments]:
        line = strange[0]
        raise PlanError(f"{line.wearer} does not wear {line.piece or 'a made piece'} in this plan.")
    return _against(problem, best, NotAll(choices=choices), time_limit_s)


def other_people(
    problem: Problem, best: Plan, *, without: Sequence[str] = (), time_limit_s: float | None = None
) -> Alternative:
    """The best plan in which at least one of these performers is not dressed in the same role; none named: of all."""
    people = tuple(dict.fromkeys((line.wearer, line.role) for line in best.assignments))
    wanted = tuple(pair for pair in people if not without or pair[0] in without)
    if missing := set(without) - {wearer for wearer, _ in people}:
        raise PlanError(f"{min(missing)} is not dressed in this plan.")
    if not wanted:
        raise PlanError("The plan dresses nobody, so there is no other one to compare with.")
    return _against(problem, best, NotAll(people=wanted), time_limit_s)


def with_lock(problem: Problem, best: Plan, lock: Lock, *, time_limit_s: float | None = None) -> Alternative:
    """Lock a choice and plan the rest. Raises PlanError for a lock that contradicts another one or the fits.

    A lock fits its wearer and may still not be kept: when another slot of the outfit cannot be filled.
    """
    other = plan(replace(problem, locks=(*problem.locks, lock)), time_limit_s=time_limit_s)
    kept = Assignment(lock.wearer, lock.role, lock.slot, lock.piece) in other.assignments
    return Alternative(other, cost_of(best, other), kept)


def _against(problem: Problem, best: Plan, refused: NotAll, time_limit_s: float | None) -> Alternative:
    other = plan(replace(problem, not_all=(*problem.not_all, refused)), time_limit_s=time_limit_s)
    return Alternative(other, cost_of(best, other))
