"""Days that overlap and days that are free: spans of whole days, both ends taken. Pure.

A day is a date, not 24 hours: a change of the clocks, a year's end or a leap day makes no span longer or shorter.
"""

from collections.abc import Iterable
from datetime import date, timedelta

Span = tuple[date, date]
ONE_DAY = timedelta(days=1)


def length(span: Span) -> int:
    """How many days the span takes."""
    return (span[1] - span[0]).days + 1


def overlap(one: Span, other: Span) -> Span | None:
    """The days that both take; None when they share none."""
    first, last = max(one[0], other[0]), min(one[1], other[1])
    return (first, last) if first <= last else None


def merged(spans: Iterable[Span]) -> list[Span]:
    """The same days in as few spans as possible, in order."""
    found: list[Span] = []
    for first, last in sorted(spans):
        # Compared without adding a day to the last: the calendar may end there.
        if found and (first <= found[-1][1] or first - found[-1][1] == ONE_DAY):
            found[-1] = (found[-1][0], max(found[-1][1], last))
        else:
            found.append((first, last))
    return found


def first_window(busy: Iterable[Span], days: int, not_before: date) -> Span | None:
    """The earliest `days` days in a row, from `not_before` on, of which none is busy; None when the calendar ends."""
    start = not_before
    for first, last in merged(busy):
        if last < start:
            continue
        if (first - start).days >= days:
            break
        if last == date.max:
            return None
        start = last + ONE_DAY
    if (date.max - start).days < days - 1:
        return None
    return start, start + timedelta(days=days - 1)


def last_window(busy: Iterable[Span], days: int, not_before: date, not_after: date) -> Span | None:
    """The latest `days` days in a row within the two days of which none is busy; None when there are none."""
    end = not_after
    for first, last in reversed(merged(busy)):
        if first > end:
            continue
        if (end - last).days >= days:
            break
        if (first - not_before).days < days:
            return None
        end = first - ONE_DAY
    start = end - timedelta(days=days - 1)
    return (start, end) if start >= not_before else None
