"""A day of fittings: what hangs ready, the order, the times; against enumeration of every order."""

from datetime import datetime
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st

from catalog.fitting.calc.fit import Fit, Verdict
from catalog.fitting.calc.fitting_day import Fitting, SlotRail, fittings, hung, in_order, times
from catalog.fitting.calc.plan_types import Assignment, Group, PlanPiece, PlanWearer, Problem, Role

YES = Fit(Verdict.YES, 1.0, 50)


def maybe(probability: float) -> Fit:
    return Fit(Verdict.UNKNOWN, probability, round(100 * probability))


def problem_of(fits: dict[tuple[str, str], Fit], pieces: list[PlanPiece], groups: tuple[Group, ...] = ()) -> Problem:
    slots = tuple(dict.fromkeys(piece.slot for piece in pieces))
    wearers = tuple(PlanWearer(code) for code in sorted({wearer for wearer, _ in fits}))
    return Problem((Role("R", 9, slots, groups),), wearers, tuple(pieces), fits)


def test_a_first_choice_and_two_spares_the_likeliest_first() -> None:
    pieces = [PlanPiece(code, "R", "coat") for code in ("a", "b", "c", "d", "e")]
    fits = {
        ("E1", "a"): YES, ("E1", "b"): maybe(0.5), ("E1", "c"): YES, ("E1", "d"): maybe(0.7),
        ("E1", "e"): Fit(Verdict.NO, 0.0),
    }  # fmt: skip
    found = fittings(problem_of(fits, pieces), [Assignment("E1", "R", "coat", "a")])
    assert found == (Fitting("E1", "R", (SlotRail("coat", "a", ("c", "d")),)),)


def test_what_another_is_planned_for_is_no_spare() -> None:
    pieces = [PlanPiece(code, "R", "coat") for code in ("a", "b", "c")]
    fits = {(wearer, piece.code): YES for wearer in ("E1", "E2") for piece in pieces}
    lines = [Assignment("E1", "R", "coat", "a"), Assignment("E2", "R", "coat", "b")]
    assert [fitting.rails[0].spares for fitting in fittings(problem_of(fits, pieces), lines)] == [("c",), ("c",)]


def test_a_piece_to_be_made_hangs_spares_alone() -> None:
    pieces = [PlanPiece("a", "R", "coat")]
    found = fittings(problem_of({("E1", "a"): maybe(0.3)}, pieces), [Assignment("E1", "R", "coat", None)])
    assert found[0].rails == (SlotRail("coat", None, ("a",)),)


def test_a_spare_of_a_match_group_goes_with_the_rest() -> None:
    pieces = [
        PlanPiece("helm", "R", "helmet", None, {"ring": "A"}),
        PlanPiece("plate-b", "R", "plate", None, {"ring": "B"}),
        PlanPiece("plate-a", "R", "plate", None, {"ring": "A"}),
        PlanPiece("plate-c", "R", "plate", None, {"ring": "A"}),
        PlanPiece("plate-x", "R", "plate"),
    ]
    fits = {("E1", piece.code): YES for piece in pieces}
    lines = [Assignment("E1", "R", "helmet", "helm"), Assignment("E1", "R", "plate", "plate-a")]
    found = fittings(problem_of(fits, pieces, (Group("ring", ("helmet", "plate")),)), lines)
    assert found[0].rails[1].spares == ("plate-c",)


def one(wearer: str, *pieces: str, role: str = "R") -> Fitting:
    return Fitting(wearer, role, tuple(SlotRail(f"s{n}", piece, ()) for n, piece in enumerate(pieces)))


def test_neighbours_share_what_hangs_already() -> None:
    found = [one("E1", "a", "b"), one("E2", "x", "y"), one("E3", "a", "c"), one("E4", "x", "z")]
    ordered = [fitting.wearer for fitting in in_order(found)]
    assert abs(ordered.index("E1") - ordered.index("E3")) == 1
    assert abs(ordered.index("E2") - ordered.index("E4")) == 1
    assert hung(in_order(found)) == 6


def test_a_role_stays_together_in_the_order_given() -> None:
    found = [one("E1", "a"), one("E2", "a", role="S"), one("E3", "b"), one("E4", "c", role="S")]
    assert [fitting.role for fitting in in_order(found)] == ["R", "R", "S", "S"]


def rails(number: int, count: int) -> list[Fitting]:
    """`count` fittings that hang two or three of six pieces each."""
    rng = np.random.default_rng(number)
    return [one(f"E{n}", *(str(p) for p in rng.choice(list("abcdef"), size=3, replace=False))) for n in range(count)]


@given(number=st.integers(0, 1_000_000))
@seed(7)
@settings(max_examples=40)
def test_the_order_is_the_best_of_all_orders(number: int) -> None:
    found = rails(number, 5)
    assert hung(in_order(found)) == min(hung(order) for order in permutations(found))


@given(number=st.integers(0, 1_000_000))
@seed(8)
@settings(max_examples=20)
def test_a_long_day_is_never_worse_than_the_list_and_loses_nobody(number: int) -> None:
    found = rails(number, 14)
    ordered = in_order(found)
    assert hung(ordered) <= hung(found)
    assert sorted(fitting.wearer for fitting in ordered) == sorted(fitting.wearer for fitting in found)


def at(hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 8, 24, hour, minute)


@pytest.mark.parametrize(
    ("count", "minutes", "pause", "expected"),
    [
        (3, 30, None, [at(9), at(9, 30), at(10)]),
        (0, 30, None, []),
        (3, 30, (at(10), 45), [at(9), at(9, 30), at(10, 45)]),
        (3, 40, (at(10), 30), [at(9), at(10, 30), at(11, 10)]),
        (1, 90, (at(10), 30), [at(10, 30)]),
        (2, 30, (at(8), 30), [at(9), at(9, 30)]),
    ],
)
def test_no_fitting_runs_into_the_pause(
    count: int, minutes: int, pause: tuple[datetime, int] | None, expected: list[datetime]
) -> None:
    kept = {} if pause is None else {"pause_at": pause[0], "pause_minutes": pause[1]}
    assert list(times(count, at(9), minutes, **kept)) == expected  # type: ignore[arg-type]


def test_no_minutes_are_refused() -> None:
    with pytest.raises(ValueError, match="at least a minute"):
        times(2, at(9), 0)
