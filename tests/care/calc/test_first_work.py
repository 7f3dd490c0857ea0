"""Backward dates of work on pieces; counted again with numpy's business days as the outside check."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.care.calc.first_work import Dates, Stand, Work, timed, with_repair
from catalog.core.days import Kind

LOAD, TODAY, FITTINGS = date(2026, 9, 14), date(2026, 7, 27), date(2026, 8, 31)
FREEZE = Work("freeze", 14, Kind.CALENDAR)


@pytest.mark.parametrize(
    ("work", "today", "stand", "start", "ready"),
    [
        (FREEZE, TODAY, Stand.AHEAD, date(2026, 8, 31), None),
        (FREEZE, date(2026, 8, 31), Stand.AHEAD, date(2026, 8, 31), None),
        (FREEZE, date(2026, 9, 1), Stand.LATE, date(2026, 8, 31), None),
        (Work("break down", 2), TODAY, Stand.AHEAD, date(2026, 9, 10), None),
        (Work("break down", 0), LOAD, Stand.AHEAD, LOAD, None),
        (Work("clean", None), TODAY, Stand.UNKNOWN, None, None),
        (Work("clean", None, started_on=TODAY), TODAY, Stand.UNKNOWN, None, None),
        (Work("freeze", 14, Kind.CALENDAR, date(2026, 8, 31)), LOAD, Stand.UNDER_WAY, None, LOAD),
        (Work("freeze", 14, Kind.CALENDAR, date(2026, 9, 1)), LOAD, Stand.ENDS_LATE, None, date(2026, 9, 15)),
    ],
)
def test_how_a_job_stands(work: Work, today: date, stand: Stand, start: date | None, ready: date | None) -> None:
    found = timed(work, Dates(LOAD, today))
    assert (found.stand, found.start_by, found.ready) == (stand, start, ready)
    assert found.is_late == (stand in {Stand.LATE, Stand.ENDS_LATE})


def test_what_is_wanted_at_the_fittings_starts_earlier() -> None:
    assert timed(FREEZE, Dates(LOAD, TODAY, FITTINGS)).for_fittings == date(2026, 8, 17)
    assert timed(FREEZE, Dates(LOAD, TODAY, LOAD)).for_fittings is None


@given(
    due=st.dates(date(2020, 1, 1), date(2040, 1, 1)),
    days=st.integers(0, 90),
    shut=st.sets(st.integers(1, 60), max_size=12),
)
def test_working_days_agree_with_an_outside_count(due: date, days: int, shut: set[int]) -> None:
    """numpy.busday_offset counts business days with a list of holidays."""
    closed = frozenset(due - timedelta(days=n) for n in shut)
    found = timed(Work("mend", days), Dates(due, date(1990, 1, 1), closed=closed))
    holidays = [np.datetime64(day) for day in closed]
    outside = np.busday_offset(np.datetime64(due), -days, roll="backward", holidays=holidays)
    assert found.start_by == outside.astype(date)


@given(days=st.integers(0, 60), kind=st.sampled_from(list(Kind)), ahead=st.integers(0, 90))
def test_what_starts_on_its_last_safe_day_is_ready_in_time(days: int, kind: Kind, ahead: int) -> None:
    due = TODAY + timedelta(days=ahead)
    start = timed(Work("mend", days, kind), Dates(due, TODAY)).start_by
    assert start is not None
    assert not timed(Work("mend", days, kind, start), Dates(due, TODAY)).is_late


@pytest.mark.parametrize(
    ("ordered", "repair", "left"),
    [
        ([], None, []),
        ([], Work("mend crack", 5), ["mend crack"]),
        ([Work("brush", 1)], Work("mend crack", 5), ["brush", "mend crack"]),
        ([Work("Mend  crack", 4)], Work("mend crack", 5), ["Mend  crack"]),
        ([Work("at the bench", 5, started_on=TODAY)], Work("mend crack", 5), ["at the bench"]),
        ([Work("−30 °C", 14, against_pests=True)], Work("freeze, moth grazing", 14), ["−30 °C"]),
        ([Work("−30 °C", 14, against_pests=True)], Work("mend crack", 5), ["−30 °C", "mend crack"]),
    ],
)
def test_one_job_is_told_once(ordered: list[Work], repair: Work | None, left: list[str]) -> None:
    assert [work.what for work in with_repair(ordered, repair)] == left
