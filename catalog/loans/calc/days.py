"""Counting days backwards and forwards: when work must start to be ready, when it is ready if it starts.

The day work starts is not counted: what takes one working day and starts on a Friday is ready on Monday. Working days
are Monday to Friday without the house's holidays; a freezer and a notice run on every day of the calendar.
"""

from collections.abc import Set
from datetime import date, timedelta
from enum import StrEnum

ONE = timedelta(days=1)
NO_HOLIDAYS: frozenset[date] = frozenset()
SATURDAY = 5


class Kind(StrEnum):
    """Which days count."""

    WORKING = "working"
    CALENDAR = "calendar"


def is_working_day(day: date, holidays: Set[date] = NO_HOLIDAYS) -> bool:
    """Monday to Friday, and no holiday of the house."""
    return day.weekday() < SATURDAY and day not in holidays


def last_safe_start(due: date, days: int, kind: Kind, holidays: Set[date] = NO_HOLIDAYS) -> date:
    """The last day on which work of so many days may start and still be ready by the end of `due`.

    Raises ValueError for a negative number of days.
    """
    _not_negative(days)
    if kind is Kind.CALENDAR:
        return due - days * ONE
    day = _working(due, -ONE, holidays)
    for _ in range(days):
        day = _working(day - ONE, -ONE, holidays)
    return day


def ready_on(start: date, days: int, kind: Kind, holidays: Set[date] = NO_HOLIDAYS) -> date:
    """The day on which work that starts on `start` is ready. Work that starts on a free day starts on the next working
    day. Raises ValueError for a negative number of days."""
    _not_negative(days)
    if kind is Kind.CALENDAR:
        return start + days * ONE
    day = _working(start, ONE, holidays)
    for _ in range(days):
        day = _working(day + ONE, ONE, holidays)
    return day


def _working(day: date, step: timedelta, holidays: Set[date]) -> date:
    """The day itself, or the nearest working day in the direction of the step."""
    while not is_working_day(day, holidays):
        day += step
    return day


def _not_negative(days: int) -> None:
    if days < 0:
        raise ValueError("Work takes no negative number of days.")
