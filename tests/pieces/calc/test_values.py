"""Stale values and sums of money. The age is the house's own; the calendar is Python's."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.pieces.calc.values import money, money_words, newest_stale, stale_from, sums


@pytest.mark.parametrize(
    ("valued_on", "years", "stale"),
    [
        (date(2021, 9, 1), 5, date(2026, 9, 1)),
        (date(2016, 4, 1), 5, date(2021, 4, 1)),
        (date(2024, 2, 29), 1, date(2025, 3, 1)),
        (date(2024, 2, 29), 4, date(2028, 2, 29)),
    ],
)
def test_a_value_goes_stale_on_its_anniversary(valued_on: date, years: int, stale: date) -> None:
    assert stale_from(valued_on, years) == stale


@given(st.dates(date(1950, 1, 1), date(2090, 1, 1)), st.integers(1, 50), st.integers(-3, 3))
def test_the_cut_off_for_the_database_says_the_same(valued_on: date, years: int, off: int) -> None:
    today = stale_from(valued_on, years) + timedelta(days=off)
    assert (valued_on <= newest_stale(today, years)) == (stale_from(valued_on, years) <= today)


def test_currencies_are_never_added() -> None:
    found = sums([("USD", Decimal("90.50")), ("EUR", Decimal(1000)), ("EUR", Decimal(250))])
    assert found == {"EUR": Decimal(1250), "USD": Decimal("90.50")}
    assert money_words(found) == "EUR\u00a01,250 and USD\u00a090.50"
    assert money_words({}) == "no value"
    assert money("GBP", Decimal("0.00")) == "GBP\u00a00"
