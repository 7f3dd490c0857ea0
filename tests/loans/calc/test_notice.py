"""By which day another job must be asked: one count for the dry run, the hold and the call."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.loans.calc.notice import Notice

LOAD, FITTINGS, TODAY = date(2026, 9, 14), date(2026, 8, 31), date(2026, 7, 27)


@pytest.mark.parametrize(
    ("notice", "ask", "early"),
    [
        (Notice(14, LOAD, FITTINGS), date(2026, 8, 31), date(2026, 8, 17)),
        (Notice(14, LOAD, LOAD), date(2026, 8, 31), None),
        (Notice(14, LOAD), date(2026, 8, 31), None),
        (Notice(0, LOAD, FITTINGS), LOAD, FITTINGS),
        (Notice(None, LOAD, FITTINGS), None, None),
    ],
)
def test_the_days(notice: Notice, ask: date | None, early: date | None) -> None:
    assert (notice.ask_by, notice.ask_early) == (ask, early)


def test_both_days_are_said_with_their_reasons() -> None:
    assert Notice(14, LOAD, FITTINGS).sentence("Museum", TODAY) == (
        "Ask Museum by 31 Aug 2026 for an early release: 14 days of notice before the truck loads on 14 Sep 2026; "
        "by 17 Aug 2026 if they are wanted from 31 Aug 2026; it may be refused."
    )
    late = Notice(1, LOAD).sentence("Museum", LOAD)
    assert late.endswith("That day has passed: ask for the days after 14 Sep 2026, or a favour.")
    assert "1 day of notice" in late
    assert Notice(None, LOAD).sentence("Museum", TODAY).endswith("no days of notice were agreed.")


@given(days=st.integers(0, 400), buffer=st.integers(1, 60))
def test_asking_early_is_earlier_by_as_much_as_the_hold_begins_earlier(days: int, buffer: int) -> None:
    notice = Notice(days, LOAD, LOAD - timedelta(days=buffer))
    assert notice.ask_by is not None
    assert notice.ask_early == notice.ask_by - timedelta(days=buffer)
