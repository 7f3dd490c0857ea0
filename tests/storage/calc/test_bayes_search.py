"""What a search that found nothing leaves: worked examples from a textbook, and what must hold for any search.

Examples: S. M. Ross, Introduction to Probability and Statistics for Engineers and Scientists, example 3.7f (a plane is
missing in one of three equally likely regions; overlook probability a). The step itself is the one of L. D. Stone,
Theory of Optimal Search (1975), from memory.
"""

from collections.abc import Sequence
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.storage.calc.search import FINDS, Access, Thoroughness, access_of, after, finds, searched

SHARES = st.lists(st.floats(0.01, 1), min_size=2, max_size=12)
DETECT = st.floats(0, 0.98)


@pytest.mark.parametrize("overlook", [0.4, 0.1, 0.9])
def test_the_textbooks_missing_plane(overlook: float) -> None:
    left = searched({1: 1 / 3, 2: 1 / 3, 3: 1 / 3}, 1, 1 - overlook)
    assert left[1] == pytest.approx(overlook / (overlook + 2))
    assert left[2] == left[3] == pytest.approx(1 / (overlook + 2))
    assert after({1: 7, 2: 7, 3: 7}, [(1, 1 - overlook)]) == pytest.approx(left)


def test_the_textbooks_number() -> None:
    # "if a = .4, then the conditional probability that the plane is in region 1 ... is 1/6"
    assert searched({1: 1 / 3, 2: 1 / 3, 3: 1 / 3}, 1, 0.6)[1] == pytest.approx(1 / 6)


def test_two_sectors_searched_at_once_as_in_an_exercise() -> None:
    # Four equally likely sectors, two of tundra searched with a 50 % chance each: then 1/3 for the tundra together.
    left = after(dict.fromkeys("abcd", 0.25), [("a", 0.5), ("b", 0.5)])
    assert left["a"] + left["b"] == pytest.approx(1 / 3)
    assert left["c"] == left["d"] == pytest.approx(1 / 3)


@given(SHARES, st.lists(st.tuples(st.integers(0, 11), DETECT), max_size=20))
def test_chances_sum_to_one_whatever_was_searched(shares: Sequence[float], vain: list[tuple[int, float]]) -> None:
    left = after(dict(enumerate(shares)), vain)
    assert sum(left.values()) == pytest.approx(1)
    assert all(0 <= chance <= 1 for chance in left.values())


@given(SHARES, st.data(), DETECT)
def test_a_search_never_raises_the_place_and_never_lowers_another(
    shares: Sequence[float], data: st.DataObject, d: float
) -> None:
    before = after(dict(enumerate(shares)), [])
    place = data.draw(st.integers(0, len(shares) - 1))
    left = searched(before, place, d)
    assert left[place] <= before[place] + 1e-12
    assert all(left[key] >= before[key] - 1e-12 for key in before if key != place)
    assert left == pytest.approx(after(before, [(place, d)]))


@given(SHARES, st.lists(st.tuples(st.integers(0, 11), DETECT), max_size=8), st.randoms())
def test_the_order_of_searches_does_not_matter(
    shares: Sequence[float], vain: list[tuple[int, float]], chance: object
) -> None:
    mixed = list(vain)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert after(dict(enumerate(shares)), mixed) == pytest.approx(after(dict(enumerate(shares)), vain))


def test_what_was_surely_there_and_surely_seen_is_a_contradiction() -> None:
    with pytest.raises(ValueError, match="wrong"):
        searched({1: 1.0}, 1, 1.0)
    with pytest.raises(ValueError, match="No place is left"):
        after({1: 1.0}, [(1, 1.0)])


def test_the_more_thorough_the_surer_and_a_trunk_is_seen_sooner() -> None:
    for access in get_args(Access):
        chances = [FINDS[access][how] for how in get_args(Thoroughness)]
        assert chances == sorted(chances)
        assert all(0 < piece < box < 1 for piece, box in chances)
    assert finds("trunk", "glance", container=False) < 0.1
    assert [access_of(kind) for kind in ("level", "box", "room")] == ["open", "closed", "wide"]
