"""Original and present size, what a seam still gives, and words of what never goes back."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.care.calc.alterations import Change, Sizes, names_cutting, sizes, too_far

DAY = date(2026, 9, 2)
BEFORE, AFTER = DAY - timedelta(1), DAY + timedelta(1)


@pytest.mark.parametrize(
    ("value", "taken_on", "changes", "made_now"),
    [
        (860, None, (), (860, 860)),
        (860, None, (Change(30, DAY, 860),), (860, 890)),
        (860, BEFORE, (Change(30, DAY, 860),), (860, 890)),
        (860, DAY, (Change(30, DAY, 860),), (860, 890)),
        (890, DAY, (Change(30, DAY, 860),), (860, 890)),
        (890, AFTER, (Change(30, DAY, 860),), (860, 890)),
        (860, BEFORE, (Change(-20, DAY, 860),), (860, 840)),
        (860, BEFORE, (Change(30, DAY, 860, AFTER),), (860, 860)),
        (890, DAY, (Change(30, DAY, 860, AFTER),), (860, 860)),
        (860, AFTER, (Change(30, DAY, 860, AFTER),), (860, 860)),
        (None, None, (Change(30, DAY),), (None, None)),
        (860, None, (Change(30, DAY, 860), Change(-10, DAY, 860)), (860, 880)),
    ],
)
def test_original_and_present(
    value: int | None, taken_on: date | None, changes: tuple[Change, ...], made_now: tuple[int | None, int | None]
) -> None:
    found = sizes(value, taken_on, changes)
    assert (found.original, found.present) == made_now


@settings(max_examples=80, deadline=None)
@given(st.integers(300, 2000), st.lists(st.integers(-60, 60).filter(bool), max_size=5))
def test_measuring_again_after_the_last_one_changes_neither_size(original: int, steps: list[int]) -> None:
    changes = tuple(Change(step, DAY + timedelta(n), original) for n, step in enumerate(steps))
    before = sizes(original, BEFORE, changes)
    again = sizes(before.present, DAY + timedelta(len(steps) + 1), changes)
    assert (again.original, again.present) == (original, original + sum(steps))
    undone = tuple(Change(one.change_mm, one.done_on, one.before_mm, DAY + timedelta(30)) for one in changes)
    assert sizes(original, BEFORE, undone).present == original


@pytest.mark.parametrize(
    ("now", "change", "most"),
    [
        (Sizes(860, 860, 30), 30, None),
        (Sizes(860, 860, 30), 31, 30),
        (Sizes(860, 880, 30, 20), 11, 10),
        (Sizes(860, 890, 30, 30), 1, 0),
        (Sizes(860, 840, 30, -20), 50, None),
        (Sizes(860, 840, None, -20), 20, None),
        (Sizes(860, 840, None, -20), 21, 20),
        (Sizes(860, 860, None), 1, 0),
        (Sizes(860, 860, None), -40, None),
    ],
)
def test_a_seam_gives_its_reserve_and_not_more(now: Sizes, change: int, most: int | None) -> None:
    assert too_far(now, change) == most


# Lenders' rules name cutting, dyeing, painting and gluing (drama.washington.edu, loan policy of the costume shop).
@pytest.mark.parametrize("what", ["hem cut off", "dyed to match", "Glued on", "painted sole", "punched a hole"])
def test_what_never_goes_back_is_told_by_its_words(what: str) -> None:
    assert names_cutting(what)


@pytest.mark.parametrize("what", ["sleeve let down", "side seams taken in", "tacked with tape", "pad in the crown"])
def test_what_goes_back_is_not_questioned(what: str) -> None:
    assert not names_cutting(what)
