"""What can be done for a call: the dry run. It stores nothing; page, paper and command read the same answer."""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from catalog.fitting.body_queries import bodies_of, free_on_all, wearers_of
from catalog.fitting.calc.body import Body
from catalog.fitting.calc.card_range import CardRange, card_range
from catalog.fitting.calc.counts import SetCounts, set_counts
from catalog.fitting.calc.exclusions import ExclusionRule
from catalog.fitting.calc.fit import Fit, Reason, Verdict, public_reason
from catalog.fitting.calc.plan import CROWD, plan
from catalog.fitting.calc.plan_cost import DRESSED
from catalog.fitting.calc.plan_types import Lock, Plan, PlanWearer, Problem
from catalog.fitting.calc.plan_types import Role as CalcRole
from catalog.fitting.calc.shortage import Shortage, shortages
from catalog.fitting.models import PlanLine
from catalog.fitting.problem_queries import (
    Bands,
    build,
    calc_role,
    candidate,
    exclusion_rules,
    fits_of,
    makeable,
)
from catalog.fitting.stock_queries import Question, StockPiece, question_of, stock_of
from catalog.loans.models import Call, Wearer
from catalog.pieces.models import Role, Slot

Planner = Callable[[Problem], Plan]
# How long a page may take for a crowd, in seconds; the command `plan` may take longer.
PAGE_LIMIT_S = 20.0


@dataclass(frozen=True, slots=True)
class DryRun:
    """The answer to a call, and what it rests on."""

    call: Call
    question: Question
    plan: Plan
    problem: Problem
    asked: dict[str, int]
    stock: tuple[StockPiece, ...]
    counts: dict[str, SetCounts]
    shortages: tuple[Shortage, ...]
    roles: dict[str, Role]
    wearers: dict[str, Wearer]
    range: CardRange | None = None
    work: tuple[StockPiece, ...] = ()
    slots: dict[tuple[str, str], Slot] = field(default_factory=dict)

    @property
    def asked_total(self) -> int:
        """How many performers were asked for."""
        return sum(self.asked.values())

    @property
    def at_most(self) -> int:
        """How many no plan can dress more than; the same as are dressed when the plan is proven."""
        return max((aim.bound for aim in self.plan.aims if aim.name == DRESSED), default=self.plan.total)

    @property
    def first_start(self) -> date | None:
        """The first day on which some work must have started."""
        return min((row.start_by for row in self.work if row.start_by), default=None)


@dataclass(frozen=True, slots=True)
class Ground:
    """What every question about a call rests on, read once. `fits` grows as pieces are judged."""

    call: Call
    asked: dict[str, int]
    roles: dict[str, Role]
    slots: dict[tuple[str, str], Slot]
    calc_roles: tuple[CalcRole, ...]
    wearers: dict[str, Wearer]
    bodies: dict[str, Body]
    rules: list[ExclusionRule]
    bands: Bands
    makeable: frozenset[tuple[str, str, str]]
    fits: dict[tuple[str, str], Fit] = field(default_factory=dict)


def ground_of(call: Call, *, sizes: str = "best") -> Ground:
    """Read the call's roles, people, bodies and the house's rules; `sizes="card"` looks at the cards alone."""
    needs = {need.role: need.count for need in call.needs.select_related("role")}
    roles = {role.code: role for role in needs}
    slots = slots_of(list(roles.values()))
    wearers = wearers_of(call)
    bodies, rules = bodies_of(wearers, sizes=sizes), exclusion_rules()
    return Ground(
        call=call,
        asked={role.code: count for role, count in needs.items()},
        roles=roles,
        slots={(slot.role.code, slot.code): slot for slot in slots},
        calc_roles=tuple(calc_role(role, slots, count, close_up=call.close_up) for role, count in needs.items()),
        wearers={wearer.number: wearer for wearer in wearers},
        bodies=bodies,
        rules=rules,
        bands=Bands(slots),
        makeable=makeable(bodies, slots, rules),
    )


def problem_of(
    ground: Ground, stock: Iterable[StockPiece], *, with_making: bool = False, locks: tuple[Lock, ...] = ()
) -> Problem:
    """The planner's problem on this ground with this stock."""
    rows = list(stock)
    new = [candidate(row.piece, ground.bands) for row in rows if row.usable]
    judged = {number for _, number in ground.fits}
    ground.fits.update(fits_of(ground.bodies, [one for one in new if one.code not in judged], ground.rules))
    usable = {one.code for one in new}
    days = ground.call.days()
    return build(
        roles=list(ground.calc_roles),
        wearers=[PlanWearer(w.number, None, free_on_all(w, days)) for w in ground.wearers.values()],
        stock=rows,
        fits={pair: found for pair, found in ground.fits.items() if pair[1] in usable},
        may_be_made=ground.makeable,
        names=names_of(ground.roles.values(), ground.slots.values()),
        with_making=with_making,
        locks=locks,
    )


def dry_run(
    call: Call,
    *,
    sizes: str = "best",
    found: Iterable[str] = (),
    released: Iterable[str] = (),
    with_making: bool = False,
    ground: Ground | None = None,
    planner: Planner | None = None,
) -> DryRun:
    """Plan the call as recorded, or as if containers were found, holds released, pieces made.

    `sizes="card"` looks at the cards alone; `range` is set when some size is only estimated. Locked lines of the kept
    plan are kept. `ground` saves reading it anew. `planner` plans with its own time limit or tells how far it
    is; without it a crowd gets as long as somebody waits for a page. Raises PlanError when the planner cannot answer.
    """
    question = question_of(call, found=found, released=released)
    ground = ground or ground_of(call, sizes=sizes)
    stock = stock_of(list(ground.roles.values()), question)
    # A lock was set by what is known best; by cards alone it need not hold, so it is not asked to.
    locks = () if sizes == "card" else locks_of(call, with_making=with_making)
    return _planned(ground, question, stock, with_making, planner or while_somebody_waits, locks)


def while_somebody_waits(problem: Problem) -> Plan:
    """Plan within the time of a page: for a crowd the best plan that is found by then, with its bound."""
    return plan(problem, time_limit_s=PAGE_LIMIT_S if len(problem.wearers) > CROWD else None)


def with_making_too(run: DryRun, ground: Ground) -> DryRun:
    """The same question once more, as if what is short were made."""
    return _planned(ground, run.question, run.stock, True, while_somebody_waits, locks_of(run.call, with_making=True))


def _planned(
    ground: Ground,
    question: Question,
    stock: Iterable[StockPiece],
    with_making: bool,
    planner: Planner,
    locks: tuple[Lock, ...],
) -> DryRun:
    stock, call = tuple(stock), ground.call
    problem = problem_of(ground, stock, with_making=with_making, locks=locks)
    guessed = any(fit.verdict is Verdict.UNKNOWN and fit.probability is not None for fit in problem.fits.values())
    between = card_range(problem, planner=planner) if guessed else None
    found_plan = between.low if between is not None else planner(problem)
    used = {assigned.piece for assigned in found_plan.assignments}
    return DryRun(
        call=call,
        question=question,
        plan=found_plan,
        problem=problem,
        asked=ground.asked,
        stock=stock,
        counts={role.code: set_counts(role, problem.pieces) for role in ground.calc_roles},
        shortages=shortages(problem),
        roles=ground.roles,
        wearers=ground.wearers,
        range=between,
        work=tuple(row for row in stock if row.piece.number in used and row.work),
        slots=ground.slots,
    )


def slots_of(roles: Collection[Role]) -> list[Slot]:
    """The slots of the roles, in the order in which a set is dressed."""
    return list(
        Slot.objects.filter(role__in=roles)
        .select_related("role")
        .prefetch_related("usual_materials")
        .order_by("role__code", "order", "code")
    )


def names_of(roles: Iterable[Role], slots: Iterable[Slot]) -> dict[str, str]:
    """The words for role and slot codes in sentences. Where two roles call one slot differently, its code speaks."""
    called: dict[str, set[str]] = {}
    for slot in slots:
        called.setdefault(slot.code, set()).add(slot.name)
    words = {code: next(iter(names)) if len(names) == 1 else code.replace("_", " ") for code, names in called.items()}
    return words | {role.code: role.name for role in roles}


def locks_of(call: Call, *, with_making: bool) -> tuple[Lock, ...]:
    """The locked lines of the call's kept plan; a piece to be made can only be locked where pieces are made."""
    lines = PlanLine.objects.filter(plan__call=call, plan__current=True, locked=True)
    if not with_making:
        lines = lines.filter(piece__isnull=False)
    lines = lines.select_related("wearer", "role", "slot", "piece")
    return tuple(
        Lock(line.wearer.number, line.role.code, line.slot.code, line.piece.number if line.piece else None)
        for line in lines
    )


def as_json(run: DryRun) -> dict[str, Any]:
    """The documented keys of the `plan` command: nothing in it tells a size.

    asked, dressed and whole_sets by role code; total; limits by role (slot or group, count); left_out (wearer, reason);
    assignments (wearer, role, slot, piece or null when made); make (role, slot, wearer); gap; range (sure, possible)
    when some sizes are only estimated, else null.
    """
    found = run.plan
    return {
        "asked": run.asked,
        "dressed": found.dressed,
        "whole_sets": found.whole_sets,
        "total": found.total,
        "limits": {role: {limit.kind: limit.name, "count": limit.count} for role, limit in found.limits.items()},
        "left_out": [{"wearer": row.wearer, "reason": public_reason(row.reason)} for row in found.left_out],
        "assignments": [
            {"wearer": row.wearer, "role": row.role, "slot": row.slot, "piece": row.piece} for row in found.assignments
        ],
        "make": [{"role": row.role, "slot": row.slot, "wearer": row.wearer} for row in found.make],
        "gap": found.gap,
        "range": {"sure": run.range.low.total, "possible": run.range.high.total} if run.range is not None else None,
    }


def needed_pieces(run: DryRun) -> list[str]:
    """Numbers of the pieces the plan uses."""
    return sorted(row.piece for row in run.plan.assignments if row.piece is not None)


def public_left_out(run: DryRun) -> list[tuple[str, str]]:
    """Who is left out and the word that production may read."""
    return [(row.wearer, public_reason(row.reason)) for row in run.plan.left_out if row.reason is not Reason.NOT_NEEDED]
