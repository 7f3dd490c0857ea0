"""Overlaps and free windows of days.

Outside checks: a plain model of sets of days (every day looked at one by one), and the calendar arithmetic of numpy's
datetime64, which counts days by itself.
"""

from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.loans.calc.windows import Span, first_window, last_window, length, merged, overlap

DAY = date(2031, 6, 10)


def d(n: int) -> date:
    return DAY + timedelta(days=n)


@pytest.mark.parametrize(
    ("one", "other", "shared"),
    [
        ((0, 4), (5, 9), None),
        ((0, 4), (4, 9), (4, 4)),
        ((0, 9), (3, 5), (3, 5)),
        ((3, 5), (0, 9), (3, 5)),
        ((0, 0), (0, 0), (0, 0)),
    ],
    ids=["next to each other", "one day", "within", "around", "the same day"],
)
def test_overlap(one: tuple[int, int], other: tuple[int, int], shared: tuple[int, int] | None) -> None:
    wanted = None if shared is None else (d(shared[0]), d(shared[1]))
    assert overlap((d(one[0]), d(one[1])), (d(other[0]), d(other[1]))) == wanted


@pytest.mark.parametrize(
    ("first", "last", "days"),
    [
        pytest.param(date(2030, 12, 30), date(2031, 1, 2), 4, id="over a year's end"),
        pytest.param(date(2032, 2, 28), date(2032, 3, 1), 3, id="over a leap day"),
        pytest.param(date(2031, 3, 29), date(2031, 3, 31), 3, id="clocks go forward"),
        pytest.param(date(2031, 10, 25), date(2031, 10, 27), 3, id="clocks go back"),
    ],
)
def test_length_counts_dates_as_numpy_does(first: date, last: date, days: int) -> None:
    assert length((first, last)) == days == int((np.datetime64(last) - np.datetime64(first)).astype(int)) + 1


def test_the_end_of_the_calendar_is_no_fault() -> None:
    assert first_window([(DAY, date.max)], 1, DAY) is None
    assert first_window([], 2, date.max) is None
    assert first_window([], 1, date.max) == (date.max, date.max)
    assert merged([(DAY, date.max), (d(1), d(2))]) == [(DAY, date.max)]


SPANS = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 8)).map(lambda s: (d(s[0]), d(s[0] + s[1]))), max_size=8)


def days_in(spans: list[Span]) -> set[date]:
    return {first + timedelta(days=n) for first, last in spans for n in range((last - first).days + 1)}


@given(SPANS, SPANS)
@settings(max_examples=150)
def test_overlap_and_merging_against_sets_of_days(ours: list[Span], theirs: list[Span]) -> None:
    shared = [both for one in ours for other in theirs if (both := overlap(one, other))]
    assert days_in(shared) == days_in(ours) & days_in(theirs)
    one = merged(ours)
    assert days_in(one) == days_in(ours)
    assert all((after[0] - before[1]).days > 1 for before, after in pairwise(one))


@given(SPANS, st.integers(1, 9), st.integers(0, 40))
@settings(max_examples=200)
def test_windows_against_looking_at_every_day(busy: list[Span], days: int, start: int) -> None:
    taken = days_in(busy)

    def free(at: date) -> bool:
        return not taken & days_in([(at, at + timedelta(days=days - 1))])

    earliest = next(at for n in range(200) if free(at := d(start + n)))
    assert first_window(busy, days, d(start)) == (earliest, earliest + timedelta(days=days - 1))
    latest = next((at for n in range(45, -1, -1) if free(at := d(n)) and at + timedelta(days=days - 1) <= d(45)), None)
    wanted = None if latest is None else (latest, latest + timedelta(days=days - 1))
    assert last_window(busy, days, d(0), d(45)) == wanted
