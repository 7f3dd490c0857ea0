"""Other plans than the best one, and what they cost: other people, other pieces, or one choice locked."""

from dataclasses import dataclass

from catalog.fitting.calc.fit import Verdict
from catalog.fitting.calc.plan_cost import Cost
from catalog.fitting.calc.plan_second import Alternative, other_people, second_best, with_lock
from catalog.fitting.calc.plan_types import Assignment, Lock, Plan, PlanError
from catalog.fitting.queries import DryRun
from catalog.loans.models import Wearer


@dataclass(frozen=True, slots=True)
class Change:
    """One performer who wears other pieces than in the best plan, slot by slot: (slot, best, other); "" for nothing."""

    wearer: Wearer
    slots: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class OtherPlan:
    """Another plan beside the best: who comes in, who goes out, who wears other pieces, and the cost."""

    words: str
    alternative: Alternative
    comes_in: tuple[Wearer, ...]
    goes_out: tuple[Wearer, ...]
    changes: tuple[Change, ...]

    @property
    def cost(self) -> Cost:
        return self.alternative.cost


def other_plans(run: DryRun, *, time_limit_s: float | None = None) -> list[OtherPlan]:
    """The next best plan at all, and the next best with other people; none when nobody is dressed."""
    if not run.plan.assignments:
        return []
    any_other = second_best(run.problem, run.plan, time_limit_s=time_limit_s)
    people = other_people(run.problem, run.plan, time_limit_s=time_limit_s)
    return [
        _told(run, "The next best plan", any_other),
        _told(run, "The next best plan with other people", people),
    ]


def plan_with(run: DryRun, wearer: str, piece: str, *, time_limit_s: float | None = None) -> OtherPlan:
    """The best plan in which this performer wears this piece. Raises PlanError when that cannot be."""
    row = next((row for row in run.problem.pieces if row.code.lower() == piece.lower()), None)
    who = next((number for number in run.wearers if number.lower() == wearer.lower()), None)
    if who is None:
        raise PlanError(f"There is no performer {wearer[:20]} on the list.")
    if row is None:
        raise PlanError(f"{piece[:30]} is no piece that this call can use.")
    fit = run.problem.fits.get((who, row.code))
    if fit is None or fit.verdict is not Verdict.YES:
        raise PlanError(f"{row.code} is not known to fit {who}: see why not, and grant that first.")
    lock = Lock(who, row.role, row.slot, row.code)
    found = with_lock(run.problem, run.plan, lock, time_limit_s=time_limit_s)
    return _told(run, f"With {row.code} on {who}", found)


def plan_without(run: DryRun, wearer: str, piece: str, *, time_limit_s: float | None = None) -> OtherPlan:
    """The best plan in which this performer does not wear this piece. Raises PlanError when they do not wear it now."""
    line = next(
        (
            line
            for line in run.plan.assignments
            if line.wearer.lower() == wearer.lower() and (line.piece or "").lower() == piece.lower()
        ),
        None,
    )
    if line is None:
        raise PlanError(f"{wearer[:20]} does not wear {piece[:30]} in the best plan.")
    found = second_best(run.problem, run.plan, without=[line], time_limit_s=time_limit_s)
    return _told(run, f"Without {line.piece} on {line.wearer}", found)


def _told(run: DryRun, words: str, found: Alternative) -> OtherPlan:
    before, after = _worn(run.plan), _worn(found.plan)
    changes = []
    for number in before.keys() & after.keys():
        slots = _changed(run, before[number], after[number])
        if slots:
            changes.append(Change(run.wearers[number], slots))
    changes.sort(key=lambda change: change.wearer.number)
    return OtherPlan(
        words,
        found,
        tuple(run.wearers[number] for number in sorted(after.keys() - before.keys())),
        tuple(run.wearers[number] for number in sorted(before.keys() - after.keys())),
        tuple(changes),
    )


def _worn(plan: Plan) -> dict[str, dict[tuple[str, str], Assignment]]:
    found: dict[str, dict[tuple[str, str], Assignment]] = {}
    for line in plan.assignments:
        found.setdefault(line.wearer, {})[line.role, line.slot] = line
    return found


def _changed(
    run: DryRun, before: dict[tuple[str, str], Assignment], after: dict[tuple[str, str], Assignment]
) -> tuple[tuple[str, str, str], ...]:
    found = []
    for key in dict.fromkeys((*before, *after)):
        old, new = _piece(before.get(key)), _piece(after.get(key))
        if old != new:
            role, slot = key
            name = run.slots[key].name if key in run.slots else slot
            found.append((name if len({r for r, _ in (*before, *after)}) == 1 else f"{role} {name}", old, new))
    return tuple(found)


def _piece(line: Assignment | None) -> str:
    return "" if line is None else line.piece or "made"
