"""How early a piece must be had so that it is frozen or repaired before its first day of use. Pure.

Jobs of one piece follow each other: what is in the freezer is not on the bench. Working days follow the house's days
(common practice, no source). A job under way began already and takes no days of the hold.
"""

from collections.abc import Iterable
from datetime import date

from catalog.care.calc.first_work import Work
from catalog.core.days import last_safe_start


def begin_by(use_from: date, works: Iterable[Work], closed: frozenset[date] = frozenset()) -> date:
    """The last day on which the first of the jobs may begin; the day of use itself when there is nothing to do."""
    day = use_from
    for work in works:
        if work.days and work.started_on is None:
            day = last_safe_start(day, work.days, work.kind, closed)
    return day


def days_needed(use_from: date, works: Iterable[Work], closed: frozenset[date] = frozenset()) -> int:
    """The buffer before the use that the jobs ask for, in calendar days."""
    return (use_from - begin_by(use_from, works, closed)).days


def sentence(number: str, works: Iterable[Work], begin: date) -> str:
    """What a piece needs, how long it takes, and by which day it must begin."""
    jobs = ", then ".join(f"{work.what} ({work.takes})" for work in works if work.days and work.started_on is None)
    return f"{number} needs {jobs} before its use: begin by {begin:%-d %b %Y}."
