"""Days of work counted forward and backward, on a calendar that is handed in; days that cannot have been."""

from datetime import date, timedelta
from enum import StrEnum

ONE_DAY = timedelta(days=1)
SATURDAY = 5
# Nobody who keeps this archive saw anything before: an older day is a slip of the year.
FIRST_DAY = date(1850, 1, 1)


class Kind(StrEnum):
    """Working days are Monday to Friday without the house's holidays; calendar days are all of them."""

    WORKING = "working"
    CALENDAR = "calendar"


def is_working_day(day: date, holidays: frozenset[date] = frozenset()) -> bool:
    return day.weekday() < SATURDAY and day not in holidays


def _step(day: date, days: int, kind: Kind, holidays: frozenset[date], way: timedelta) -> date:
    """`days` days onward in one direction, counting only days of the kind."""
    if days < 0:
        raise ValueError("A lead time cannot be negative.")
    if kind is Kind.CALENDAR:
        return day + days * way
    while not is_working_day(day, holidays):
        day += way
    for _ in range(days):
        day += way
        while not is_working_day(day, holidays):
            day += way
    return day


def last_safe_start(due: date, days: int, kind: Kind, holidays: frozenset[date] = frozenset()) -> date:
    """The last day on which something that takes `days` may start and still be ready on `due`.

    In working days a due day that is none counts as the working day before. In calendar days the start may fall on any
    day of the week. Raises ValueError for a negative lead time.
    """
    return _step(due, days, kind, holidays, -ONE_DAY)


def ready_on(start: date, days: int, kind: Kind, holidays: frozenset[date] = frozenset()) -> date:
    """The day on which something started on `start` is ready; work cannot start on a day off and waits for the next."""
    return _step(start, days, kind, holidays, ONE_DAY)


def last_working_day(day: date, holidays: frozenset[date] = frozenset()) -> date:
    """The day itself, or the working day before it: when somebody has to be there to start."""
    return _step(day, 0, Kind.WORKING, holidays, -ONE_DAY)


def wrong_past_day(day: date, today: date, word: str) -> str:
    """Why something that has happened cannot have happened on this day, naming the field; "" when it can."""
    if day > today:
        return f"{word}: {day:%-d %b %Y} is still to come. Give a day up to today, {today:%-d %b %Y}."
    if day < FIRST_DAY:
        return f"{word}: {day:%-d %b %Y} is too long ago. Look at the year: it lies in {FIRST_DAY.year} or later."
    return ""
