"""How a kept plan stands today: who is left out and why, what is mended first, what has since become unusable.

Worked out from the rows each time, so that no reason of anybody's is stored with the plan.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from catalog.fitting.calc.fit import Reason, public_reason
from catalog.fitting.calc.plan_reasons import left_out
from catalog.fitting.calc.plan_types import Assignment, LeftOut, Problem
from catalog.fitting.calc.rivals import Rivals, StandIn, rivals, stand_ins
from catalog.fitting.models import Plan
from catalog.fitting.queries import Ground, ground_of, problem_of
from catalog.fitting.stock_queries import StockPiece, question_of, stock_of
from catalog.loans.models import Wearer

COULD_BE = "could be dressed now"


@dataclass(frozen=True, slots=True)
class Kept:
    """A kept plan and the day's facts about it."""

    ground: Ground
    problem: Problem
    assignments: tuple[Assignment, ...]
    left_out: tuple[LeftOut, ...]
    work: tuple[StockPiece, ...]
    lost: tuple[StockPiece, ...]

    @property
    def rivals(self) -> tuple[Rivals, ...]:
        return rivals(self.problem)

    def stand_ins(self, number: str) -> tuple[StandIn, ...]:
        """Who could wear what the plan gives this performer."""
        return stand_ins(self.problem, [line for line in self.assignments if line.wearer == number])


@dataclass(frozen=True, slots=True)
class Told:
    """Somebody left out as a page tells it: the word for everybody, the sentence for the wardrobe lead."""

    wearer: Wearer
    mark: str
    word: str
    sentence: str = ""

    @property
    def who(self) -> str:
        return f"{self.wearer.number} {self.wearer.name}".strip()


def kept_today(plan: Plan) -> Kept:
    """Hold the kept plan against today's rows, in a fixed number of queries."""
    ground = ground_of(plan.call)
    stock = stock_of(list(ground.roles.values()), question_of(plan.call))
    problem = problem_of(ground, stock, with_making=plan.with_making)
    lines = plan.lines.select_related("wearer", "role", "slot", "piece")
    assignments = tuple(
        Assignment(x.wearer.number, x.role.code, x.slot.code, x.piece.number if x.piece else None) for x in lines
    )
    roles = {line.wearer: line.role for line in assignments}
    dressed = {code: sum(role == code for role in roles.values()) for code in ground.roles}
    used = {line.piece for line in assignments}
    mine = [row for row in stock if row.piece.number in used]
    return Kept(
        ground,
        problem,
        assignments,
        left_out(problem, assignments, dressed),
        tuple(sorted((row for row in mine if row.usable and row.work), key=lambda row: row.start_by or date.max)),
        tuple(row for row in mine if not row.usable),
    )


def told_left_out(rows: Iterable[LeftOut], wearers: Mapping[str, Wearer], *, sees_bodies: bool) -> list[Told]:
    """Who is left out, whoever is not needed apart. Production reads size, dates or piece missing, nothing truer."""
    return [_told(row, wearers[row.wearer], sees_bodies) for row in rows if not _not_needed(row)]


def not_needed(rows: Iterable[LeftOut]) -> int:
    """How many stand by because every place is filled."""
    return sum(_not_needed(row) for row in rows)


def _not_needed(row: LeftOut) -> bool:
    return row.reason is Reason.NOT_NEEDED and not _could_be(row)


def _could_be(row: LeftOut) -> bool:
    """Nothing stands in the way any more in the role that comes nearest."""
    return bool(row.roles) and not row.roles[0].blocks


def _told(row: LeftOut, wearer: Wearer, sees_bodies: bool) -> Told:
    if _could_be(row):
        return Told(wearer, "conditions", COULD_BE)
    word = public_reason(row.reason)
    marks = {"dates": "unknown", "piece missing": "conditions"}
    if not sees_bodies:
        return Told(wearer, marks.get(word, "no"), word)
    if row.reason in (Reason.UNKNOWN, Reason.SIZE) and not wearer.sheets.all():
        return Told(wearer, "unknown", "not known", "No size of this performer is kept.")
    if row.reason is Reason.EXCLUSION:
        words = [exclusion.rule.words for exclusion in wearer.exclusions.all()]
        named = [word for word in words if word in row.sentence] or words
        return Told(wearer, "no", f"excluded, {' and '.join(named)}", row.sentence)
    if row.reason is Reason.UNKNOWN:
        return Told(wearer, "unknown", "not known", row.sentence)
    return Told(wearer, marks.get(word, "no"), word, row.sentence)
