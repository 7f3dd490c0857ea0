"""Check characters of label codes against published ISO 7064 MOD 37,36 examples and an independent implementation.

Published: GRid (music releases) and ISAN (films; ISO 15706), whose standards use this very system; each row of
data/iso7064_mod_37_36.csv names where it was read. Independent: python-stdnum's `iso7064.mod_37_36`.
"""

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from catalog.core.codes import ALPHABET, check_character, make_code

ROWS = list(csv.DictReader((Path(__file__).parent / "data/iso7064_mod_37_36.csv").open(encoding="utf-8")))


@pytest.mark.parametrize("row", ROWS, ids=[row["payload"] for row in ROWS])
def test_published_examples(row: dict[str, str]) -> None:
    assert check_character(row["payload"].replace(" ", "")) == row["check"]


@given(st.text(ALPHABET, min_size=1, max_size=24))
def test_an_independent_implementation_agrees(payload: str) -> None:
    assert check_character(payload) == mod_37_36.calc_check_digit(payload)


@pytest.mark.parametrize("letter", ["P", "C", "L", "B"])
def test_every_code_of_a_letter_is_valid_there(letter: str) -> None:
    assert all(mod_37_36.is_valid(make_code(letter, number)) for number in range(0, 100_000, 7))
