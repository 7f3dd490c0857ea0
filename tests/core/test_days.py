"""Backward dates. Outside check: numpy's business-day calendar (numpy.busday_offset)."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.core.days import Kind, is_working_day, last_safe_start, last_working_day, ready_on

LOAD = date(2026, 9, 14)


@pytest.mark.parametrize(
    ("due", "days", "kind", "start"),
    [
        (LOAD, 15, Kind.WORKING, date(2026, 8, 24)),
        (LOAD, 12, Kind.WORKING, date(2026, 8, 27)),
        (LOAD, 10, Kind.WORKING, date(2026, 8, 31)),
        (LOAD, 14, Kind.CALENDAR, date(2026, 8, 31)),
        (date(2026, 8, 31), 14, Kind.CALENDAR, date(2026, 8, 17)),
        (LOAD, 0, Kind.WORKING, LOAD),
        (date(2026, 9, 13), 1, Kind.WORKING, date(2026, 9, 10)),
    ],
)
def test_last_safe_start(due: date, days: int, kind: Kind, start: date) -> None:
    assert last_safe_start(due, days, kind) == start


def test_a_start_after_the_last_safe_day_is_ready_too_late() -> None:
    assert ready_on(date(2026, 8, 31), 15, Kind.WORKING) == date(2026, 9, 21)


def test_holidays_are_not_worked() -> None:
    free = frozenset({date(2026, 9, 11)})
    assert last_safe_start(LOAD, 1, Kind.WORKING, free) == date(2026, 9, 10)
    assert ready_on(date(2026, 9, 10), 1, Kind.WORKING, free) == LOAD
    assert not is_working_day(date(2026, 9, 11), free)
    assert last_working_day(date(2026, 9, 13), free) == date(2026, 9, 10)


def test_a_negative_lead_time_is_refused() -> None:
    with pytest.raises(ValueError, match="negative"):
        last_safe_start(LOAD, -1, Kind.WORKING)


DAYS = st.dates(date(2020, 1, 1), date(2040, 1, 1))
HOLIDAYS = st.frozensets(st.dates(date(2026, 1, 1), date(2026, 12, 31)), max_size=20)


@given(due=DAYS | st.dates(date(2026, 1, 1), date(2026, 12, 31)), days=st.integers(0, 60), holidays=HOLIDAYS)
def test_working_days_agree_with_numpy(due: date, days: int, holidays: frozenset[date]) -> None:
    free = np.array(sorted(holidays), dtype="datetime64[D]")
    back = np.busday_offset(np.datetime64(due), -days, roll="backward", holidays=free)
    ahead = np.busday_offset(np.datetime64(due), days, roll="forward", holidays=free)
    assert last_safe_start(due, days, Kind.WORKING, holidays) == back.item()
    assert ready_on(due, days, Kind.WORKING, holidays) == ahead.item()


@given(due=DAYS, days=st.integers(0, 60), holidays=HOLIDAYS, kind=st.sampled_from(Kind))
def test_started_in_time_it_is_ready_and_a_day_later_it_is_not(
    due: date, days: int, holidays: frozenset[date], kind: Kind
) -> None:
    start = last_safe_start(due, days, kind, holidays)
    assert ready_on(start, days, kind, holidays) <= due
    assert ready_on(start + timedelta(days=1), days, kind, holidays) > (
        last_working_day(due, holidays) if kind is Kind.WORKING else due
    )
