"""Originals before remakes where the shot is close, never at the cost of people, making or whole sets."""

from dataclasses import replace

import pytest

from catalog.fitting.calc.plan import ORIGINALS, plan
from catalog.fitting.calc.plan_types import Group, PlanPiece, PlanWearer, Problem, Role
from tests.fitting.calc.plan_worlds import NO, every_plan, four_by_five, yes


def world(*, close_up: bool = True) -> Problem:
    """The remake fits w0 better than the original; w1 fits neither."""
    pieces = (PlanPiece("old", "R", "coat", original=True), PlanPiece("new", "R", "coat"))
    fits = {("w0", "old"): yes(10), ("w0", "new"): yes(90), ("w1", "old"): NO, ("w1", "new"): NO}
    return Problem((Role("R", 2, ("coat",), (), close_up),), (PlanWearer("w0"), PlanWearer("w1")), pieces, fits)


def worn(problem: Problem) -> list[str | None]:
    return [line.piece for line in plan(problem).assignments]


def test_a_close_up_takes_the_original_and_any_other_shot_what_fits_best() -> None:
    assert worn(world(close_up=True)) == ["old"]
    assert worn(world(close_up=False)) == ["new"]
    assert plan(world(close_up=True)).remakes == ()
    assert ORIGINALS not in {aim.name for aim in plan(world(close_up=False)).aims}


def test_nobody_goes_undressed_for_an_original() -> None:
    """w1 fits the original alone, w0 both: two dressed, with the remake named and why."""
    asked = world()
    answer = plan(replace(asked, fits={**asked.fits, ("w1", "old"): yes(5)}))
    assert answer.total == 2
    (remake,) = answer.remakes
    assert (remake.assignment.wearer, remake.assignment.piece) == ("w0", "new")
    assert (
        remake.sentence
        == "coat: new is not known to be an original; the 1 that would fit is worn by others in this plan."
    )


@pytest.mark.parametrize(
    ("pieces", "fits", "said"),
    [
        ((), {}, "no original is free for this call"),
        ((PlanPiece("old", "R", "coat", original=True),), {("w0", "old"): NO}, "none of 1 original is known to fit"),
    ],
)
def test_why_a_remake_is_worn(pieces: tuple[PlanPiece, ...], fits: dict[tuple[str, str], object], said: str) -> None:
    asked = world()
    only = replace(asked, pieces=(*pieces, asked.pieces[1]), fits={("w0", "new"): yes(), **fits})  # type: ignore[dict-item]
    (remake,) = plan(only).remakes
    assert said in remake.sentence


def test_an_original_that_matches_nothing_else_is_said() -> None:
    """The original coat is red and every hat is blue."""
    role = Role("R", 1, ("coat", "hat"), (Group("dye", ("coat", "hat")),), close_up=True)
    pieces = (
        PlanPiece("old", "R", "coat", None, {"dye": "red"}, original=True),
        PlanPiece("new", "R", "coat", None, {"dye": "blue"}),
        PlanPiece("hat", "R", "hat", None, {"dye": "blue"}, original=True),
    )
    answer = plan(Problem((role,), (PlanWearer("w"),), pieces, {("w", p.code): yes() for p in pieces}))
    (remake,) = answer.remakes
    assert "no free original shares the dye of the other pieces" in remake.sentence


def test_a_piece_still_to_be_made_is_no_original() -> None:
    asked = world()
    bare = replace(asked, pieces=(), fits={}, with_making=True, makeable=frozenset({("w0", "R", "coat")}))
    (remake,) = plan(bare).remakes
    assert remake.sentence == "coat: is to be made; no original is free for this call."


@pytest.mark.parametrize("number", range(12))
def test_it_is_the_most_originals_of_all_plans_that_are_as_good_before_it(number: int) -> None:
    asked = four_by_five(number)
    pieces = tuple(replace(piece, original=at % 3 == 0) for at, piece in enumerate(asked.pieces))
    problem = replace(asked, pieces=pieces, roles=tuple(replace(role, close_up=True) for role in asked.roles))
    originals = {piece.code for piece in pieces if piece.original}
    best = max(
        (dressed, -made, whole, sum(line.piece in originals for line in lines), fit)
        for (dressed, made, whole, fit), lines in every_plan(problem)
    )
    aims = [aim.value for aim in plan(problem).aims]
    assert (aims[0], -aims[1], *aims[2:]) == best
