"""Moving a world's dates by whole weeks."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.exchange.calc.shift import week_shift

DAYS = st.dates(min_value=date(1980, 1, 1), max_value=date(2100, 1, 1))


@pytest.mark.parametrize(
    ("today", "shift"),
    [
        (date(2026, 7, 27), 0),
        (date(2026, 8, 2), 0),
        (date(2026, 8, 3), 7),
        (date(2026, 7, 26), -7),
        (date(2025, 7, 28), -364),
    ],
)
def test_the_anchor_falls_into_this_week(today: date, shift: int) -> None:
    assert week_shift(date(2026, 7, 27), today) == shift


@given(DAYS, DAYS, DAYS)
def test_weekdays_stay_and_the_week_is_todays(anchor: date, today: date, other: date) -> None:
    """Against Python's ISO calendar: the moved anchor has today's ISO year and week, every day keeps its weekday."""
    shift = timedelta(days=week_shift(anchor, today))
    assert (anchor + shift).isocalendar()[:2] == today.isocalendar()[:2]
    try:
        moved = other + shift
    except OverflowError:
        return
    assert moved.isoweekday() == other.isoweekday()
