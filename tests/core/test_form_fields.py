"""Fields show what they will read again."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.core.form_fields import WeightField
from catalog.core.units import WeightUnit


@pytest.mark.parametrize(
    ("grams", "unit", "shown"), [(88_000, "kg", "88"), (500, "kg", "0.5"), (1234, "kg", "1.234"), (500, "lb", "500 g")]
)
def test_a_weight_is_shown_as_its_reader_would_type_it(grams: int, unit: WeightUnit, shown: str) -> None:
    assert WeightField(unit=unit).prepare_value(grams) == shown


@given(grams=st.integers(1, 400_000), unit=st.sampled_from(["kg", "lb"]))
def test_opening_and_saving_never_rounds_what_was_weighed(grams: int, unit: WeightUnit) -> None:
    field = WeightField(unit=unit)
    assert field.clean(field.prepare_value(grams)) == grams
