"""The family of a material by its name; the tables of kinds and points hold together."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.pieces.calc.kinds import (
    KINDS,
    POINTS,
    eu_of_mm,
    impossible,
    inch_of_mm,
    mm_of_eu,
)
from catalog.pieces.calc.materials import family_of
from catalog.pieces.models import Material


@pytest.mark.parametrize(
    ("name", "family"),
    [
        ("wool", "cloth"),
        ("oiled cotton", "cloth"),
        ("silk lining", "cloth"),
        ("Polyester resin", "hard plastic"),
        ("glass fibre", "hard plastic"),
        ("glass", "glass"),
        ("glass eyes", "glass"),
        ("natural rubber", "foam rubber"),
        ("polyurethane foam liner", "foam rubber"),
        ("foam latex", "foam rubber"),
        ("lead", "metal"),
        ("plated brass", "metal"),
        ("metal thread", "cloth"),
        ("rabbit fur", "fur"),
        ("fur felt", "fur"),
        ("yak hair", "fur"),
        ("faux fur", "cloth"),
        ("leather", "leather"),
        ("wax", "finish"),
        ("lithium-ion pack", "electric"),
        ("birch ply", "wood"),
        ("straw", "wood"),
        ("card peak", "paper"),
        ("knitted wool", "knit"),
        ("moonstuff", "other"),
        ("", "other"),
    ],
)
def test_the_family_by_the_words(name: str, family: str) -> None:
    assert family_of(name) == family


@given(st.text(max_size=40))
def test_any_name_has_a_family_the_table_knows(name: str) -> None:
    assert family_of(name) in Material.Family.values
    assert family_of(name) == family_of(name.upper().lower())


def test_kinds_and_points_hold_together() -> None:
    assert {key for kind in KINDS.values() for key in kind.points} <= set(POINTS)
    for point in POINTS.values():
        assert 0 < point.low_mm < point.high_mm
        assert impossible(point.key, point.low_mm) is None
        assert impossible(point.key, point.high_mm) is None
        assert impossible(point.key, point.low_mm - 1)
        assert impossible(point.key, point.high_mm + 1)


@given(st.integers(min_value=24, max_value=100))
def test_a_shoe_size_to_the_half_comes_back(halves: int) -> None:
    """One Paris point is 20/3 mm (ISO/TS 19407): sizes to the half survive whole millimetres."""
    assert eu_of_mm(mm_of_eu(halves / 2)) == halves / 2


@given(st.integers(min_value=10, max_value=30))
def test_a_glove_size_to_the_half_comes_back(halves: int) -> None:
    assert inch_of_mm(round(halves / 2 * 25.4)) == halves / 2
