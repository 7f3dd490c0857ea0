"""Lengths and weights as people type them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.core.units import (
    LengthUnit,
    UnitError,
    WeightUnit,
    bare_length,
    bare_weight,
    read_length_mm,
    read_weight_g,
    show_length,
    show_weight,
    wrong_length,
    wrong_weight,
)

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
    ("5ft9", 1753),
    ("5 foot 9 inches", 1753),
    ("5' 9 1/2\"", 1765),
    ("1,760 mm", 1760),
    ("176 centimetres", 1760),
]
WEIGHTS = [("81", 81_000), ("81 kg", 81_000), ("12st 3", 77_564), ("12 st", 76_204), ("171 lb", 77_564), ("850 g", 850)]
WEIGHTS += [("12 stone 3 pounds", 77_564), ("12st3", 77_564), ("81 kilos", 81_000), ("81,5", 81_500), ("1,250 g", 1250)]


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


@pytest.mark.parametrize(
    ("text", "sentence"),
    [("5 ft 12", "12 inches are a foot"), ("5'13\"", "12 inches are a foot"), ("9" * 30, "more than can be kept")],
)
def test_a_length_that_cannot_be_meant(text: str, sentence: str) -> None:
    with pytest.raises(UnitError, match=sentence):
        read_length_mm(text)


@pytest.mark.parametrize(("text", "sentence"), [("12st 14", "14 pounds are a stone"), ("9" * 30, "more than can be")])
def test_a_weight_that_cannot_be_meant(text: str, sentence: str) -> None:
    with pytest.raises(UnitError, match=sentence):
        read_weight_g(text)


@given(st.integers(min_value=0, max_value=3000), st.sampled_from(["mm", "cm", "in"]))
def test_editing_does_not_drift(mm: int, unit: LengthUnit) -> None:
    assert read_length_mm(bare_length(mm, unit), unit) == mm
    assert read_length_mm(show_length(mm, unit)) == mm


@given(st.integers(min_value=0, max_value=400_000), st.sampled_from(["g", "kg", "lb"]))
def test_editing_a_weight_does_not_drift(g: int, unit: WeightUnit) -> None:
    assert read_weight_g(bare_weight(g, unit), unit) == g


@given(st.integers(0, 120), st.integers(0, 3), st.sampled_from(["", "¼", "½", "¾"]))
def test_what_was_typed_in_inches_is_shown_and_read_as_the_same(whole: int, tenths: int, part: str) -> None:
    typed = f"{whole}{part}" if part else f"{whole}.{tenths}"
    stored = read_length_mm(typed, "in")
    shown = bare_length(stored, "in")
    assert read_length_mm(shown, "in") == stored
    assert bare_length(read_length_mm(shown, "in"), "in") == shown
    if not part and not tenths:
        assert shown == str(whole)


@given(st.integers(3, 7), st.integers(0, 11), st.sampled_from(["", "¼", "½", "¾"]))
def test_feet_and_inches_are_the_same_length_however_they_are_typed(feet: int, inches: int, part: str) -> None:
    rest = f"{inches}{part}" if inches or not part else part
    stored = read_length_mm(f"{feet}'{rest}\"")
    assert stored == read_length_mm(f"{feet} ft {rest} in") == read_length_mm(f"{feet * 12 + inches}{part} in")
    assert read_length_mm(bare_length(stored, "cm"), "cm") == stored == read_length_mm(bare_length(stored, "in"), "in")


@given(st.integers(3, 40), st.integers(0, 13))
def test_stone_and_pounds_are_the_same_weight_however_they_are_typed(stone: int, pounds: int) -> None:
    stored = read_weight_g(f"{stone}st {pounds}")
    assert stored == read_weight_g(f"{stone} stone {pounds} lb") == read_weight_g(str(stone * 14 + pounds), "lb")
    assert bare_weight(stored, "lb") == str(stone * 14 + pounds)
    assert read_weight_g(bare_weight(stored, "kg"), "kg") == stored


HEIGHT, WEIGHT = (500, 2600), (10_000, 350_000)


@pytest.mark.parametrize(
    ("typed", "unit", "sentence"),
    [
        ("180", "in", "“180” in inches would be 457.2 cm; it lies between 19.7 and 102.4 in. "
                      "If you mean 180 cm, type it with its unit."),
        ("180 in", "cm", "“180 in” would be 457.2 cm; it lies between 50 and 260 cm. "
                         "If you mean 180 cm, type it with its unit."),
        ("1.76", "cm", "“1.76” cm cannot be; it lies between 50 and 260 cm. "
                       "If you mean 1.76 m, type it with its unit."),
        ("1760", "cm", "“1760” cm cannot be; it lies between 50 and 260 cm. "
                       "If you mean 1760 mm, type it with its unit."),
        ("9 ft 1", "cm", "“9 ft 1” would be 276.9 cm; it lies between 50 and 260 cm."),
        ("69", "in", None),
        ("176", "cm", None),
    ],
)  # fmt: skip
def test_a_swapped_unit_is_told_what_it_would_mean(typed: str, unit: LengthUnit, sentence: str | None) -> None:
    assert wrong_length(typed, unit, *HEIGHT) == sentence


@pytest.mark.parametrize(
    ("typed", "unit", "sentence"),
    [
        ("7", "kg", "“7” kg cannot be; it lies between 10 and 350 kg. "
                    "If you mean 7 st, type it with its unit."),
        ("81 g", "kg", "“81 g” would be 0.08 kg; it lies between 10 and 350 kg. "
                       "If you mean 81 kg or 81 lb, type it with its unit."),
        ("171", "lb", None),
    ],
)  # fmt: skip
def test_a_swapped_unit_of_weight(typed: str, unit: WeightUnit, sentence: str | None) -> None:
    assert wrong_weight(typed, unit, *WEIGHT) == sentence


@given(st.integers(500, 2600), st.sampled_from(["cm", "in"]))
def test_no_possible_length_is_refused(mm: int, unit: LengthUnit) -> None:
    assert wrong_length(bare_length(mm, unit), unit, *HEIGHT) is None


def test_shown_with_its_unit() -> None:
    assert show_length(965) == "96.5 cm"
    assert show_length(965, "in") == "38 in"
    assert show_length(1045, "in") == "41.14 in"
    assert show_weight(12_000) == "12.0 kg"
    assert show_weight(300) == "0.30 kg"
    assert show_weight(12_000, "lb") == "26.5 lb"
