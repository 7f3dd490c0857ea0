"""When work on a piece must start so that the piece is ready on a day: backward dates, and how each job stands. Pure.

The order date is the day it must be ready less the days it takes (TRADE practice of a costume workroom: common
practice, no source); working days follow the house's calendar, freezing and other waiting counts every day.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from catalog.care.calc.apart import names_pest_work
from catalog.core.days import Kind, last_safe_start, ready_on


class Stand(StrEnum):
    """How a job stands to its day, gravest first."""

    LATE = "too late"
    ENDS_LATE = "ends too late"
    UNKNOWN = "no day known"
    AHEAD = "to start"
    UNDER_WAY = "under way"


@dataclass(frozen=True, slots=True)
class Work:
    """A job: what, how many days of which kind (None: nobody has said), and since when it is under way."""

    what: str
    days: int | None
    kind: Kind = Kind.WORKING
    started_on: date | None = None
    against_pests: bool = False
    waits_for: str = ""

    @property
    def takes(self) -> str:
        """ "2 working days", "1 calendar day"; empty when nobody has said."""
        if self.days is None:
            return ""
        return f"{self.days} {self.kind.value} {'day' if self.days == 1 else 'days'}"


@dataclass(frozen=True, slots=True)
class Dates:
    """The day it must be ready, today, the first fitting if the piece could be wanted there, and the closed days."""

    due: date
    today: date
    fittings: date | None = None
    closed: frozenset[date] = frozenset()


@dataclass(frozen=True, slots=True)
class Timed:
    """A job with its days: the last safe start, the earlier one for the fittings, or when it is ready."""

    work: Work
    stand: Stand
    start_by: date | None = None
    for_fittings: date | None = None
    ready: date | None = None

    @property
    def is_late(self) -> bool:
        """Whether it cannot be ready any more."""
        return self.stand in {Stand.LATE, Stand.ENDS_LATE}


def timed(work: Work, dates: Dates) -> Timed:
    """Count one job backward from its day, or forward from its start when it is under way."""
    if work.days is None:
        return Timed(work, Stand.UNKNOWN)
    if work.started_on is not None:
        ready = ready_on(work.started_on, work.days, work.kind, dates.closed)
        return Timed(work, Stand.ENDS_LATE if ready > dates.due else Stand.UNDER_WAY, ready=ready)
    start = last_safe_start(dates.due, work.days, work.kind, dates.closed)
    early = None
    if dates.fittings is not None and dates.fittings < dates.due:
        early = last_safe_start(dates.fittings, work.days, work.kind, dates.closed)
    return Timed(work, Stand.LATE if start < dates.today else Stand.AHEAD, start, early)


def with_repair(ordered: Iterable[Work], repair: Work | None) -> tuple[Work, ...]:
    """The ordered work of a piece and the repair that its wear decision names, that one only once.

    A job under way is that repair (the fit counts it so too); so is one ordered in the same words, and pest work
    where the repair is against pests.
    """
    rows = tuple(ordered)
    if repair is None or any(_is_it(row, repair) for row in rows):
        return rows
    return (*rows, repair)


def _is_it(row: Work, repair: Work) -> bool:
    same = " ".join(row.what.split()).casefold() == " ".join(repair.what.split()).casefold()
    pests = row.against_pests and names_pest_work(repair.what)
    return row.started_on is not None or same or pests
