"""A fitting list for a day: who comes when, and what hangs ready. It names pieces and people, never a size."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from catalog.fitting.calc.fitting_day import Fitting, fittings, hung, in_order, times
from catalog.fitting.calc.plan_types import Assignment
from catalog.fitting.models import Plan
from catalog.fitting.queries import DryRun
from catalog.loans.models import Wearer
from catalog.pieces.models import Slot

HEADER = ("day", "time", "performer", "name", "role", "slot", "first choice", "spares", "work first")


@dataclass(frozen=True, slots=True)
class Rail:
    """One slot of one fitting; `first` empty: to be made. `work` is what must be done to the first choice."""

    slot: Slot
    first: str
    spares: tuple[str, ...]
    work: str


@dataclass(frozen=True, slots=True)
class FittingRow:
    """One performer's time."""

    at: datetime
    wearer: Wearer
    role: str
    rails: tuple[Rail, ...]
    sure: bool


@dataclass(frozen=True, slots=True)
class FittingDay:
    """The list. `hung` pieces are handled in this order, `hung_as_listed` in the order of numbers."""

    day: date
    rows: tuple[FittingRow, ...]
    ends: datetime | None
    hung: int
    hung_as_listed: int

    @property
    def spared(self) -> int:
        """How many times hanging a piece is spared by the order."""
        return self.hung_as_listed - self.hung


def who_comes(run: DryRun, kept: Plan | None = None) -> tuple[Fitting, ...]:
    """Everybody of the kept plan; without one, of the dry run, with those whom only the tape decides."""
    if kept is not None:
        lines = kept.lines.select_related("wearer", "role", "slot", "piece").order_by("wearer__number", "slot__order")
        return fittings(
            run.problem,
            [
                Assignment(
                    line.wearer.number, line.role.code, line.slot.code, line.piece.number if line.piece else None
                )
                for line in lines
                if (line.role.code, line.slot.code) in run.slots and line.wearer.number in run.wearers
            ],
        )
    plan = run.range.high if run.range is not None else run.plan
    return fittings(run.problem, plan.assignments)


def fitting_day(
    run: DryRun,
    found: Collection[Fitting],
    *,
    kept: Plan | None = None,
    day: date,
    start: time,
    minutes: int,
    pause_at: time | None = None,
    pause_minutes: int = 0,
) -> FittingDay:
    """The list of these fittings on a day, in the order that spares re-hanging. Times are the house's clock."""
    listed = tuple(found)
    ordered = in_order(listed)
    begin = datetime.combine(day, start)
    pause = None if pause_at is None else datetime.combine(day, pause_at)
    marks = times(len(ordered), begin, minutes, pause_at=pause, pause_minutes=pause_minutes)
    sure = {line.wearer for line in run.plan.assignments} if kept is None else {fitting.wearer for fitting in listed}
    work = {row.piece.number: row.work for row in run.stock if row.work}
    rows = tuple(
        FittingRow(
            at,
            run.wearers[fitting.wearer],
            run.roles[fitting.role].name,
            tuple(
                Rail(run.slots[fitting.role, rail.slot], rail.first or "", rail.spares, work.get(rail.first or "", ""))
                for rail in fitting.rails
            ),
            fitting.wearer in sure,
        )
        for at, fitting in zip(marks, ordered, strict=True)
    )
    ends = rows[-1].at + timedelta(minutes=minutes) if rows else None
    return FittingDay(day, rows, ends, hung(ordered), hung(listed))


def table_rows(found: FittingDay) -> list[tuple[str, ...]]:
    """The list as rows under HEADER."""
    return [
        (
            found.day.isoformat(),
            f"{row.at:%H:%M}",
            row.wearer.number,
            row.wearer.name,
            row.role,
            rail.slot.name,
            rail.first or "to be made",
            " ".join(rail.spares),
            rail.work,
        )
        for row in found.rows
        for rail in row.rails
    ]
