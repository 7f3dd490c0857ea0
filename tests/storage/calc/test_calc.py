"""Walking order, lift marks and misreadings on plain values."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.storage.calc.lifting import lift_mark
from catalog.storage.calc.misread import readings
from catalog.storage.calc.walking import Step, natural_key, walking_key


@pytest.mark.parametrize(
    "order",
    [
        ["H-1", "H-2", "H-10"],
        ["TB-G1-3", "TB-G2-1", "TB-H1-2", "TB-H1-10"],
        ["a-2", "A-3"],
        ["9", "10", "rail 1"],
        ["rack 2", "rack 2 level 1", "rack 10"],
    ],
)
def test_numbers_in_codes_count_as_numbers(order: list[str]) -> None:
    backwards = order[::-1]
    assert sorted(backwards, key=natural_key) == order


@given(st.lists(st.text(max_size=12), max_size=12))
def test_any_codes_can_be_sorted(codes: list[str]) -> None:
    keys = sorted(natural_key(code) for code in codes)
    assert all(a <= b for a, b in pairwise(keys))


@given(st.integers(0, 10**9), st.integers(0, 10**9), st.text("ABCxyz", min_size=1, max_size=4))
def test_natural_order_agrees_with_the_numbers(a: int, b: int, stem: str) -> None:
    assert (natural_key(f"{stem}{a}") < natural_key(f"{stem}{b}")) == (a < b)


def test_the_walk_goes_by_room_then_rack_then_level() -> None:
    """A room's own order beats its code; what lies in a place comes right after it."""
    walks = {
        "late room": [Step(2, "A"), Step(0, "A-1")],
        "rack 2": [Step(1, "Z"), Step(0, "Z-2")],
        "in rack 2": [Step(1, "Z"), Step(0, "Z-2"), Step(0, "BOX1")],
        "rack 10": [Step(1, "Z"), Step(0, "Z-10")],
    }
    assert sorted(walks, key=lambda name: walking_key(walks[name])) == ["rack 2", "in rack 2", "rack 10", "late room"]


@pytest.mark.parametrize(
    ("known_g", "unweighed", "lift"),
    [
        (0, 0, "one person"),
        (22_999, 0, "one person"),
        (23_000, 0, "one person"),
        (23_001, 0, "two people"),
        (36_500, 0, "two people"),
        (10_000, 1, "not known"),
        (30_000, 3, "two people"),
    ],
)
def test_the_lift_mark(known_g: int, unweighed: int, lift: str) -> None:
    mark = lift_mark(known_g, unweighed, 23_000)
    assert mark.lift == lift
    assert "Local rules decide" in mark.cautions[0]
    assert "HSE INDG143" in mark.source


def test_the_lift_mark_warns_above_reach_and_follows_the_house() -> None:
    assert lift_mark(9_000, 0, 8_000).lift == "two people"
    assert "8 kg" in lift_mark(9_000, 0, 8_000).sentence
    assert any("10 kg (men) and 7 kg (women)" in c for c in lift_mark(9_000, 0, 23_000, above_reach=True).cautions)


@given(st.integers(0, 60_000), st.integers(0, 5), st.integers(1, 40_000))
def test_an_unweighed_thing_never_makes_it_safe(known_g: int, unweighed: int, limit_g: int) -> None:
    mark = lift_mark(known_g, unweighed, limit_g)
    assert (mark.lift == "one person") == (known_g <= limit_g and unweighed == 0)


@given(st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789", min_size=2, max_size=7), st.data())
def test_two_swapped_signs_and_one_wrong_digit_are_among_the_readings(word: str, data: st.DataObject) -> None:
    spot = data.draw(st.integers(0, len(word) - 2))
    swapped = word[:spot] + word[spot + 1] + word[spot] + word[spot + 2 :]
    if swapped != word:
        assert word in readings(swapped)
    if word[spot].isdigit():
        wrong = word[:spot] + data.draw(st.sampled_from("0123456789")) + word[spot + 1 :]
        assert wrong == word or word in readings(wrong)
    assert word not in readings(word)
