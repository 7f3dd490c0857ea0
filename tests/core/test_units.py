"""Lengths and weights as people type them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.core.units import UnitError, bare_length, read_length_mm, read_weight_g, show_length, show_weight

# The factors are those of the international yard and pound agreement of 1959: 1 in = 25.4 mm, 1 lb = 453.59237 g.
LENGTHS = [
    ("176", 1760),
    ("176 cm", 1760),
    ("1.76 m", 1760),
    ("1760 mm", 1760),
    ("5 ft 9", 1753),
    ("5'9½\"", 1765),
    ('5’9"', 1753),
    ("69 in", 1753),
    ('69"', 1753),
    ("96,5", 965),
    ("38 1/2 in", 978),
    ("6ft", 1829),
]
WEIGHTS = [("81", 81_000), ("81 kg", 81_000), ("12st 3", 77_564), ("12 st", 76_204), ("171 lb", 77_564), ("850 g", 850)]


@pytest.mark.parametrize(("text", "mm"), LENGTHS)
def test_read_length(text: str, mm: int) -> None:
    assert read_length_mm(text) == mm


@pytest.mark.parametrize(("text", "grams"), WEIGHTS)
def test_read_weight(text: str, grams: int) -> None:
    assert read_weight_g(text) == grams


def test_a_bare_number_is_read_in_the_readers_unit() -> None:
    assert read_length_mm("38", "in") == 965
    assert read_weight_g("100", "lb") == 45_359


@pytest.mark.parametrize("text", ["", "tall", "12 parsecs", "1/0", "--", "5 ft 9 cm", "٣x", "1e9999999"])
def test_nonsense_gets_a_sentence(text: str) -> None:
    with pytest.raises(UnitError, match="is no"):
        read_length_mm(text)


@given(st.integers(min_value=0, max_value=3000), st.sampled_from(["mm", "cm", "in"]))
def test_editing_does_not_drift(mm: int, unit: str) -> None:
    assert read_length_mm(bare_length(mm, unit), unit) == mm  # type: ignore[arg-type]


def test_shown_with_its_unit() -> None:
    assert show_length(965) == "96.5 cm"
    assert show_length(965, "in") == "37.99 in"
    assert show_weight(12_000) == "12.0 kg"
    assert show_weight(300) == "0.30 kg"
    assert show_weight(12_000, "lb") == "26.5 lb"
