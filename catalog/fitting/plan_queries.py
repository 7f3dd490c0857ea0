"""The kept plan as pages, tables and JSON tell it: who wears which piece, what is to be made. Never a size."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from catalog.fitting.models import MakeOrder, Plan, PlanLine
from catalog.fitting.stock_queries import StockPiece
from catalog.loans.models import Call, Wearer

HEADER = ("performer", "name", "role", "slot", "piece", "to be made by", "set", "locked", "first")


@dataclass(frozen=True, slots=True)
class Dressed:
    """A performer in the kept plan with every slot."""

    wearer: Wearer
    role: str
    lines: tuple[PlanLine, ...]

    @property
    def locked(self) -> bool:
        return any(line.locked for line in self.lines)

    @property
    def whole_set(self) -> str:
        """The code of the one set everything is from, else nothing."""
        sets = {line.piece.set.code if line.piece and line.piece.set else "" for line in self.lines}
        return sets.pop() if len(sets) == 1 else ""

    @property
    def made(self) -> int:
        return sum(line.piece is None for line in self.lines)


def kept_plan(call: Call) -> Plan | None:
    """The plan in force, or None."""
    return Plan.objects.filter(call=call, current=True).select_related("made_by", "call").first()


def dressed_of(plan: Plan) -> list[Dressed]:
    """Who is dressed in what, in the order of numbers."""
    lines = plan.lines.select_related("wearer", "role", "slot", "piece", "piece__set")
    by_wearer: dict[int, list[PlanLine]] = {}
    for line in lines.order_by("wearer__number", "slot__order", "slot__code"):
        by_wearer.setdefault(line.wearer_id, []).append(line)
    return [Dressed(own[0].wearer, own[0].role.name, tuple(own)) for own in by_wearer.values()]


def make_orders(plan: Plan) -> list[MakeOrder]:
    """What is to be made, the earliest day of ordering first."""
    return list(plan.make_orders.select_related("wearer", "slot", "slot__role").order_by("order_by", "id"))


def table_rows(plan: Plan, work: Iterable[StockPiece] = ()) -> list[tuple[str, ...]]:
    """The kept plan as rows under HEADER; `work` is what is mended first."""
    first = {row.piece.pk: row.work for row in work}
    order_by = {(order.wearer_id, order.slot_id): order.order_by for order in plan.make_orders.all()}
    rows: list[tuple[str, ...]] = []
    for dressed in dressed_of(plan):
        for line in dressed.lines:
            day = order_by.get((line.wearer_id, line.slot_id))
            rows.append(
                (
                    dressed.wearer.number,
                    dressed.wearer.name,
                    dressed.role,
                    line.slot.name,
                    line.piece.number if line.piece else "to be made",
                    day.isoformat() if day else "",
                    line.piece.set.code if line.piece and line.piece.set else "",
                    "yes" if line.locked else "",
                    first.get(line.piece_id or 0, ""),
                )
            )
    return rows


# What whoever does not see outfits reads of a plan: which piece fits whom says something of a body.
PUBLIC_HEADER = ("performer", "name", "role", "dressed")


def public_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Who is dressed in which role, as rows under PUBLIC_HEADER; never in what."""
    return [(row.wearer.number, row.wearer.name, row.role, "yes") for row in dressed_of(plan)]


def public_json(plan: Plan) -> dict[str, Any]:
    """The keys of `plan_as_json`, where a line is a performer with a role, and a make names no performer."""
    whole = plan_as_json(plan)
    people = [
        {"performer": row.wearer.number, "name": row.wearer.name, "role": row.lines[0].role.code}
        for row in dressed_of(plan)
    ]
    makes = [{key: value for key, value in make.items() if key != "performer"} for make in whole["make"]]
    return whole | {"lines": people, "make": makes}


def plan_as_json(plan: Plan) -> dict[str, Any]:
    """The kept plan under documented keys: call, made_at, asked, dressed, whole_sets, with_making, gap, lines, make.

    A line has performer, name, role, slot, piece (null when it is to be made), locked; a make has performer, role,
    slot, order_by, working_days.
    """
    return {
        "call": plan.call.reference,
        "made_at": plan.made_at.isoformat(),
        "asked": plan.asked,
        "dressed": plan.dressed,
        "whole_sets": plan.whole_sets,
        "with_making": plan.with_making,
        "gap": plan.gap,
        "lines": [
            {
                "performer": dressed.wearer.number,
                "name": dressed.wearer.name,
                "role": line.role.code,
                "slot": line.slot.code,
                "piece": line.piece.number if line.piece else None,
                "locked": line.locked,
            }
            for dressed in dressed_of(plan)
            for line in dressed.lines
        ],
        "make": [
            {
                "performer": order.wearer.number,
                "role": order.slot.role.code,
                "slot": order.slot.code,
                "order_by": order.order_by.isoformat() if order.order_by else None,
                "working_days": order.working_days,
            }
            for order in make_orders(plan)
        ],
    }
