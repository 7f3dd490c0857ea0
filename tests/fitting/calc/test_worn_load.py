"""What a dress weighs as worn."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.fitting.calc.worn_load import WornLoad, worn_load


@pytest.mark.parametrize(
    ("pieces", "own", "expected"),
    [
        ([], 70_000, WornLoad(0, (), 0.0, ())),
        ([("a", 2_000), ("b", 5_000)], 70_000, WornLoad(7_000, (), 0.1, ("b", "a"))),
        ([("a", 2_000), ("b", None)], 80_000, WornLoad(2_000, ("b",), 0.025, ("a",))),
        ([("a", 2_000)], None, WornLoad(2_000, (), None, ("a",))),
        ([("b", 1_000), ("a", 1_000)], None, WornLoad(2_000, (), None, ("a", "b"))),
    ],
)
def test_a_dress(pieces: list[tuple[str, int | None]], own: int | None, expected: WornLoad) -> None:
    assert worn_load(pieces, own) == expected


def test_the_parts_of_a_helmet_diving_dress_add_up() -> None:
    """Rounded figures of helmet diving dress, from memory: helmet and breastplate 55 lb, weights 80 lb, boots 32 lb,
    suit 18 lb; commonly told as about 84 kg in all."""
    pounds = {"helmet and breastplate": 55, "weights": 80, "boots": 32, "suit": 18}
    found = worn_load([(name, round(weight * 453.59237)) for name, weight in pounds.items()], 84_000)
    assert found.known_g == pytest.approx(84_000, rel=0.01)
    assert found.share == pytest.approx(1.0, abs=0.01)
    assert found.heaviest[0] == "weights"


weights = st.lists(st.one_of(st.none(), st.integers(0, 40_000)), max_size=9)


@given(listed=weights, own=st.integers(30_000, 150_000))
def test_weighing_one_more_piece_never_makes_it_lighter(listed: list[int | None], own: int) -> None:
    pieces = [(f"p{n}", weight) for n, weight in enumerate(listed)]
    before = worn_load(pieces, own)
    after = worn_load([(code, 500 if weight is None else weight) for code, weight in pieces], own)
    assert after.complete
    assert after.known_g >= before.known_g
    assert (after.share or 0) >= (before.share or 0)
