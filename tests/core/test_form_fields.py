"""Fields show what they will read again."""

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from catalog.core.form_fields import LengthField, WeightField
from catalog.core.units import WeightUnit


@pytest.mark.parametrize(
    ("grams", "unit", "shown"),
    [(88_000, "kg", "88"), (500, "kg", "0.5"), (1234, "kg", "1.234"), (500, "lb", "1.102"), (81_193, "lb", "179")],
)
def test_a_weight_is_shown_as_its_reader_would_type_it(grams: int, unit: WeightUnit, shown: str) -> None:
    assert WeightField(unit=unit).prepare_value(grams) == shown


@given(grams=st.integers(1, 400_000), unit=st.sampled_from(["kg", "lb"]))
def test_opening_and_saving_never_rounds_what_was_weighed(grams: int, unit: WeightUnit) -> None:
    field = WeightField(unit=unit)
    assert field.clean(field.prepare_value(grams)) == grams
    assert not field.has_changed(grams, field.prepare_value(grams))
    assert field.has_changed(grams, f"{grams + 1} g")


def test_impossible_sizes_are_refused_by_name_and_what_was_typed_is_told() -> None:
    height = LengthField(unit="in", bounds=(500, 2600), label="Height")
    with pytest.raises(ValidationError, match=r"^\['Height: “180” in inches would be 457.2 cm;.*mean 180 cm"):
        height.clean("180")
    assert height.clean("180 cm") == 1800
    assert height.clean("5'9½\"") == 1765
    weight = WeightField(bounds=(10_000, 350_000), label="Weight", required=False)
    with pytest.raises(ValidationError, match="Weight: “7” kg cannot be"):
        weight.clean("7")
    with pytest.raises(ValidationError, match="is no weight"):
        weight.clean("heavy")
    assert (weight.clean("12st 3"), weight.clean("")) == (77_564, None)
