"""When a piece is looked at again, and what dies first."""

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.care.calc.inspection import UNSAID, WHY, Seen, ageing_of, due_of, is_gone, later, month_end, what_to_do

MONTHS = {"battery": 6, "foam": 12, "pest": 6, "other": 48}
DAY = date(2025, 11, 3)


@pytest.mark.parametrize(
    ("materials", "battery", "why", "on"),
    [
        ((("wool", "cloth"),), False, "pest", date(2026, 5, 3)),
        ((("rabbit fur", "fur"),), False, "pest", date(2026, 5, 3)),
        ((("cotton", "cloth"),), False, "other", date(2029, 11, 3)),
        ((("polyurethane sole", "foam rubber"), ("leather", "leather")), False, "foam", date(2026, 11, 3)),
        ((("polyurethane sole", "foam rubber"), ("wool", "cloth")), False, "pest", date(2026, 5, 3)),
        ((("brass", "metal"),), True, "battery", date(2026, 5, 3)),
        ((("electrics", "electric"),), False, "battery", date(2026, 5, 3)),
        ((("vinyl", "soft pvc"),), False, "foam", date(2026, 11, 3)),
    ],
)
def test_the_first_of_its_reasons_counts(
    materials: tuple[tuple[str, str], ...], battery: bool, why: str, on: date
) -> None:
    due = due_of(Seen(materials, battery, DAY), MONTHS)
    assert (due.why, due.on) == (WHY[why], on)


def test_what_nobody_said_is_looked_at_soonest_and_what_nobody_saw_at_once() -> None:
    assert due_of(Seen((), on=DAY), MONTHS).why == UNSAID
    assert due_of(Seen((), on=DAY), MONTHS).months == 6
    assert due_of(Seen((("wool", "cloth"),)), MONTHS).by(DAY)
    assert not due_of(Seen((("cotton", "cloth"),), on=DAY), MONTHS).by(DAY)


@settings(max_examples=80, deadline=None)
@given(st.dates(date(1990, 1, 1), date(2090, 12, 31)), st.integers(1, 240))
def test_months_are_counted_as_a_calendar_library_counts_them(day: date, months: int) -> None:
    """Outside check: python-dateutil's relativedelta."""
    assert later(day, months) == day + relativedelta(months=months)
    assert (month_end(day) + relativedelta(days=1)).day == 1


@pytest.mark.parametrize(
    ("materials", "key"),
    [
        (["leather", "polyurethane sole"], "polyurethane"),
        (["Foam latex", "polyurethane foam"], "foam_latex"),
        (["PVC cloth"], "soft_pvc"),
        (["celluloid collar"], "celluloid"),
        (["natural rubber"], None),
        (["wool"], None),
    ],
)
def test_what_breaks_down_by_itself(materials: list[str], key: str | None) -> None:
    found = ageing_of(materials)
    assert (found.key if found else None) == key


def test_what_to_do_follows_the_last_finding() -> None:
    foam = ageing_of(["foam latex"])
    assert foam is not None
    assert what_to_do(foam, None, "").startswith("look at it first")
    assert what_to_do(foam, 5, "stable").startswith("beyond use")
    assert what_to_do(foam, 4, "stable").startswith("to a conservator now")
    assert what_to_do(foam, 2, "active").startswith("to a conservator now")
    assert what_to_do(foam, 2, "stable") == foam.do
    assert [is_gone(grade) for grade in (None, 1, 4, 5)] == [False, False, False, True]
