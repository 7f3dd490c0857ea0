"""Minutes worn, counted from stored moments. What a limit means is common practice, no source; days are the calendar's,
of the time zone database (IANA tz, as Python ships it), so the day of a clock change has 23 or 25 hours.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.loans.calc.wear_clock import Spell, WearClock, wear_clock

DAY = datetime(2031, 6, 10, 8, tzinfo=UTC)


def at(minutes: float) -> datetime:
    return DAY + timedelta(minutes=minutes)


def clock(
    *spells: tuple[float, float | None] | Spell, now: float, limit: int | None = 15, rest: int | None = None
) -> WearClock:
    rows = [
        one if isinstance(one, Spell) else Spell(at(one[0]), None if one[1] is None else at(one[1])) for one in spells
    ]
    return wear_clock(rows, at(now), UTC, limit_minutes=limit, rest_minutes=rest)


def minutes(span: timedelta) -> float:
    return span.total_seconds() / 60


@pytest.mark.parametrize(
    ("spells", "now", "rest", "stretch", "today"),
    [
        ([], 60, None, 0, 0),
        ([(0, 5)], 60, None, 5, 5),
        ([(0, None)], 9, None, 9, 9),  # still on
        ([(0, 5), (10, 14)], 60, None, 9, 9),  # no rest named: the day counts together
        ([(0, 5), (10, 14)], 30, 30, 9, 9),  # four and sixteen minutes are no rest of thirty
        ([(0, 5), (10, 14)], 44, 30, 0, 9),  # thirty minutes after the last
        ([(0, 5), (35, 40)], 41, 30, 5, 10),  # rested in between
        ([(0, 10), (5, 12)], 60, None, 12, 12),  # told twice, counted once
        ([(0, None), (3, 7)], 9, None, 9, 9),  # told late that it was on before
        ([(-600, -590)], 0, None, 0, 0),  # yesterday, where no rest is named
        ([(20, 30)], 10, None, 0, 0),  # not yet
    ],
)
def test_minutes(
    spells: list[tuple[float, float | None]], now: float, rest: int | None, stretch: float, today: float
) -> None:
    told = clock(*spells, now=now, rest=rest)
    assert (minutes(told.stretch), minutes(told.today)) == (stretch, today)


def test_it_comes_off_at_the_limit_and_says_when_it_goes_on_again() -> None:
    on = clock((0, 5), (10, None), now=12, rest=30)
    assert (on.runs, on.reached, on.stop_at, on.since) == (True, False, at(20), at(10))
    assert minutes(on.before) == 5
    over = clock((0, 5), (10, None), now=23, rest=30)
    assert (over.reached, over.stop_at, over.next_after) == (True, at(20), None)
    off = clock((0, 5), (10, 21), now=23, rest=30)
    assert (off.reached, off.next_after, off.needs_word) == (True, at(51), False)
    rested = clock((0, 5), (10, 21), now=51, rest=30)
    assert (rested.reached, minutes(rested.ever)) == (False, 16)


def test_where_no_rest_is_named_somebody_must_say_so() -> None:
    off = clock((0, 15), now=100)
    assert (off.reached, off.needs_word, off.next_after) == (True, True, None)
    again = clock((0, 15), Spell(at(90), anew=True), now=100)
    assert (again.reached, minutes(again.stretch), minutes(again.today)) == (False, 10, 25)
    none = clock((0, 900), now=901, limit=None)
    assert (none.reached, none.stop_at, minutes(none.ever)) == (False, None, 900)


@pytest.mark.parametrize(("day", "hours"), [((2031, 3, 30), 23), ((2031, 10, 26), 25), ((2031, 6, 10), 24)])
def test_a_day_of_the_clock_change_has_its_own_length(day: tuple[int, int, int], hours: int) -> None:
    zone = ZoneInfo("Europe/Berlin")
    start = datetime(*day, tzinfo=zone)
    late = datetime(*day, 23, 59, 59, tzinfo=zone)
    told = wear_clock([Spell(start - timedelta(hours=3))], late, zone, limit_minutes=None, rest_minutes=None)
    assert round(told.today.total_seconds() / 3600) == hours


pairs = st.lists(st.tuples(st.integers(0, 200), st.integers(0, 60)), max_size=6)


@given(pairs, st.integers(0, 300), st.one_of(st.none(), st.integers(1, 60)))
def test_as_if_counted_minute_by_minute(spells: list[tuple[int, int]], now: int, rest: int | None) -> None:
    told = clock(*((start, start + length) for start, length in spells), now=now, rest=rest)
    worn = {minute for start, length in spells for minute in range(start, start + length) if minute < now}
    assert minutes(told.ever) == len(worn)
    assert told.stretch <= told.ever
    assert told.reached == (minutes(told.stretch) >= 15)
    assert (told.stop_at is not None) == told.runs
