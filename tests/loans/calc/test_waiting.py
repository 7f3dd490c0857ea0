"""The order of pencils. First come, first served is common practice, no source."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.loans.calc.waiting import Waiting, ahead_of, behind, ordinal, rank

DAY = date(2031, 6, 10)
MADE = datetime(2031, 5, 1, 9, tzinfo=UTC)


def pencil(key: int, first: int = 0, last: int = 3, pieces: tuple[int, ...] = (1,), call: int | None = None) -> Waiting:
    days = (DAY + timedelta(days=first), DAY + timedelta(days=last))
    return Waiting(key, f"P-{key}", "x", MADE + timedelta(minutes=key), *days, frozenset(pieces), call=call)


@pytest.mark.parametrize(
    ("other", "wanted"),
    [
        (pencil(1), 2),
        (pencil(1, 4, 9), 1),
        (pencil(1, 3, 9), 2),
        (pencil(1, pieces=(2,)), 1),
        (pencil(1, pieces=(2, 1)), 2),
        (pencil(1, call=7), 1),
        (pencil(3), 1),
    ],
    ids=["same", "other days", "one day shared", "other pieces", "one piece shared", "same call", "made later"],
)
def test_rank(other: Waiting, wanted: int) -> None:
    assert rank(pencil(2, call=7), [other]) == wanted


def test_two_made_at_the_same_moment_stand_in_the_order_of_their_rows() -> None:
    one, two = (Waiting(key, f"P-{key}", "x", MADE, DAY, DAY, frozenset([1])) for key in (1, 2))
    assert (rank(one, [one, two]), rank(two, [one, two])) == (1, 2)


@pytest.mark.parametrize(("number", "word"), [(1, "first"), (5, "fifth"), (6, "6th"), (11, "11th"), (22, "22nd")])
def test_ordinals(number: int, word: str) -> None:
    assert ordinal(number) == word


PENCILS = st.lists(
    st.tuples(st.integers(0, 9), st.integers(0, 3), st.sets(st.integers(1, 3), min_size=1)), min_size=1, max_size=7
)


@given(PENCILS)
@settings(max_examples=100)
def test_ranks_against_a_plain_book_of_piece_days(rows: list[tuple[int, int, set[int]]]) -> None:
    """The plain model: write every piece and day each pencil wants; who wants one of mine and came before is ahead."""
    line = [pencil(key, a, a + n, tuple(sorted(p))) for key, (a, n, p) in enumerate(rows)]
    book = [{(piece, a + n) for piece in p for n in range(length + 1)} for a, length, p in rows]
    for key, one in enumerate(line):
        earlier = [other for other in range(key) if book[other] & book[key]]
        assert [waits.key for waits in ahead_of(one, line)] == earlier
        assert rank(one, line) == 1 + len(earlier)
        assert all(one in ahead_of(later, line) for later in behind(one, line))
