"""What can be done for a call: the dry run. It stores nothing; page, paper and command read the same answer."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from catalog.fitting.body_queries import any_open_size, bodies_of, free_on_all, wearers_of
from catalog.fitting.calc.card_range import CardRange, card_range
from catalog.fitting.calc.counts import SetCounts, set_counts
from catalog.fitting.calc.fit import Reason, public_reason
from catalog.fitting.calc.plan import plan
from catalog.fitting.calc.plan_types import Plan, PlanWearer, Problem
from catalog.fitting.calc.shortage import Shortage, shortages
from catalog.fitting.problem_queries import (
    Bands,
    build,
    calc_piece,
    calc_role,
    candidate,
    exclusion_rules,
    fits_of,
    makeable,
)
from catalog.fitting.stock_queries import Question, StockPiece, question_of, stock_of
from catalog.loans.models import Call, Wearer
from catalog.pieces.models import Role, Slot


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
    def first_start(self) -> date | None:
        """The first day on which some work must have started."""
        return min((row.start_by for row in self.work if row.start_by), default=None)


def dry_run(
    call: Call,
    *,
    sizes: str = "best",
    found: Iterable[str] = (),
    released: Iterable[str] = (),
    with_making: bool = False,
) -> DryRun:
    """Plan the call as recorded, or as if containers were found, holds released, pieces made.

    `sizes="card"` looks at the cards alone. Raises PlanError when the planner cannot answer.
    """
    question = question_of(call, found=found, released=released)
    needs = {need.role: need.count for need in call.needs.select_related("role")}
    roles = {role.code: role for role in needs}
    slots = slots_of(roles.values())
    calc_roles = [calc_role(role, slots, count) for role, count in needs.items()]
    stock = stock_of(list(roles.values()), question)
    wearers = wearers_of(call)
    bodies = bodies_of(wearers, sizes=sizes)
    rules, bands = exclusion_rules(), Bands(slots)
    usable = [candidate(row.piece, bands) for row in stock if row.usable]
    problem = build(
        roles=calc_roles,
        wearers=[PlanWearer(w.number, None, free_on_all(w, call.days())) for w in wearers],
        stock=stock,
        fits=fits_of(bodies, usable, rules),
        may_be_made=makeable(bodies, slots, rules),
        names=names_of(roles.values(), slots),
        with_making=with_making,
    )
    open_sizes = sizes == "card" or any_open_size(wearers, bodies)
    between = card_range(problem) if open_sizes else None
    found_plan = between.low if between is not None else plan(problem)
    used = {assigned.piece for assigned in found_plan.assignments}
    return DryRun(
        call=call,
        question=question,
        plan=found_plan,
        problem=problem,
        asked={role.code: count for role, count in needs.items()},
        stock=tuple(stock),
        counts={role.code: set_counts(role, problem.pieces) for role in calc_roles},
        shortages=shortages(problem),
        roles=roles,
        wearers={wearer.number: wearer for wearer in wearers},
        range=between,
        work=tuple(row for row in stock if row.piece.number in used and row.work),
        slots={(slot.role.code, slot.code): slot for slot in slots},
    )


def slots_of(roles: Iterable[Role]) -> list[Slot]:
    """The slots of the roles, in the order in which a set is dressed."""
    return list(
        Slot.objects.filter(role__in=list(roles))
        .select_related("role")
        .prefetch_related("usual_materials")
        .order_by("role__code", "order", "code")
    )


def names_of(roles: Iterable[Role], slots: Iterable[Slot]) -> dict[str, str]:
    """The words for role and slot codes in sentences."""
    return {role.code: role.name for role in roles} | {slot.code: slot.code.replace("_", " ") for slot in slots}


def as_json(run: DryRun) -> dict[str, Any]:
    """The documented keys of the `plan` command: nothing in it tells a size.

    asked, dressed and whole_sets by role code; total; limits by role (slot or group, count); left_out (wearer, reason);
    assignments (wearer, role, slot, piece or null when made); make (role, slot, wearer); gap.
    """
    found = run.plan
    answer: dict[str, Any] = {
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
    }
    if run.range is not None:
        answer["range"] = {"sure": run.range.low.total, "possible": run.range.high.total}
    return answer


def needed_pieces(run: DryRun) -> list[str]:
    """Numbers of the pieces the plan uses."""
    return sorted(row.piece for row in run.plan.assignments if row.piece is not None)


def sets_of(role: Role, question: Question) -> tuple[SetCounts, list[StockPiece], list[Slot]]:
    """The three counts of a role with nobody measured, its pieces judged, and its slots."""
    slots = slots_of([role])
    stock = stock_of([role], question)
    wanted = role.sets_made or len({row.piece.set_id for row in stock if row.piece.set_id}) or 1
    counted = set_counts(calc_role(role, slots, wanted), [calc_piece(row.piece) for row in stock if row.usable])
    return counted, stock, slots


def public_left_out(run: DryRun) -> list[tuple[str, str]]:
    """Who is left out and the word that production may read."""
    return [(row.wearer, public_reason(row.reason)) for row in run.plan.left_out if row.reason is not Reason.NOT_NEEDED]


def with_making(run: DryRun) -> Problem:
    """The same problem with pieces made: for the count of what is short."""
    return replace(run.problem, with_making=True)
