"""What a cell says, and what it does not."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.exchange.calc.cells import CellError, Type, is_formula, read
from catalog.pieces.calc.kinds import eu_of_mm

CM, KG = Type("length", "cm"), Type("weight", "kg")


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("104", CM, 1040),
        ("104,5", CM, 1045),
        ("41 in", CM, 1041),
        ("41", Type("length", "in"), 1041),
        ("2.4", Type("length", "m"), 2400),
        ("42", Type("length", "eu"), 280),
        ("9", Type("length", "in"), 229),
        ("1.2", KG, 1200),
        ("800 g", KG, 800),
        ("-6", Type("ease", "cm"), -60),
        ("0.3 in", Type("ease", "cm"), 8),
        ("2.2 in", Type("ease", "cm"), 56),
        ("-0.5", Type("ease", "cm"), -5),
        ("12", Type("whole"), 12),
        ("620.50", Type("number"), Decimal("620.50")),
        ("Yes", Type("yes_no"), True),
        ("0", Type("yes_no"), False),
        ("2026-07-27", Type("date"), date(2026, 7, 27)),
        ("27.7.2026", Type("date"), date(2026, 7, 27)),
        ("wool| silk |wool", Type("list"), ("wool", "silk")),
        ("Wear", Type("word", words=("wear", "not wearable")), "wear"),
        ("all", Type("days"), "all"),
        ("2026-09-22|2026-09-23", Type("days"), (date(2026, 9, 22), date(2026, 9, 23))),
    ],
)
def test_a_cell_is_read_by_its_columns_type(text: str, kind: Type, value: Any) -> None:
    assert read(text, kind) == value


@pytest.mark.parametrize(
    ("text", "kind", "part"),
    [
        ("twelve", Type("whole"), "“twelve” is not a number"),
        ("1.5", Type("whole"), "not a whole number"),
        ("9", Type("whole", low=1, high=5), "between 1 and 5"),
        ("1e9", Type("number"), "not a number"),
        ("-1", Type("number"), "not a number"),
        ("nan", Type("number"), "not a number"),
        ("104 cmm", CM, "is no length"),
        ("heavy", KG, "is no weight"),
        ("maybe", Type("yes_no"), "neither yes nor no"),
        ("03/04/2026", Type("date"), "write it as 2026-09-08"),
        ("2026-02-30", Type("date"), "no day of the calendar"),
        ("torn", Type("word", words=("wear", "not wearable")), "write one of: wear, not wearable"),
        ("x" * 31, Type("text", most=30), "30 fit"),
        ("x" * 3000, Type("text"), "Is a quote mark missing?"),
        ("١٢", Type("whole"), "not a number"),
    ],
)
def test_what_cannot_be_read_is_told(text: str, kind: Type, part: str) -> None:
    with pytest.raises(CellError) as told:
        read(text, kind)
    assert part in str(told.value)


def test_only_dates_move_with_the_shift() -> None:
    assert read("2026-07-27", Type("date"), shift_days=-14) == date(2026, 7, 13)
    assert read("2026-07-27", Type("text"), shift_days=-14) == "2026-07-27"


def test_a_formula_is_not_a_value() -> None:
    assert is_formula("=1+1")
    assert not any(is_formula(text) for text in ("-5", "+49 30 1", "1=1", "@home", ""))


@given(st.integers(min_value=20, max_value=52).map(lambda half: half / 1))
def test_a_shoe_size_comes_back_as_it_was_written(size: float) -> None:
    assert eu_of_mm(read(f"{size:g}", Type("length", "eu"))) == size


@given(st.integers(min_value=0, max_value=99_999))
def test_millimetres_survive_being_written_in_centimetres(mm: int) -> None:
    assert read(f"{mm / 10:.1f}", CM) == mm


@given(st.text(max_size=60), st.sampled_from(["whole", "number", "yes_no", "date", "length", "weight", "ease", "days"]))
def test_whatever_a_cell_holds_it_is_a_value_or_a_sentence(text: str, sort: str) -> None:
    kind = Type(sort, {"length": "cm", "weight": "kg", "ease": "cm"}.get(sort, ""))
    sentence = None
    try:
        value = read(text, kind)
    except CellError as told:
        value, sentence = None, str(told)
    assert (value is None) == bool(sentence)
