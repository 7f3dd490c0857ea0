"""Questions that make little sense get a sentence or an honest answer, in good time; never a crash."""

from dataclasses import replace
from time import process_time

import pytest

from catalog.desk.bench.plan_crowds import crowd
from catalog.fitting.calc.fit import Fit, Reason, Verdict
from catalog.fitting.calc.plan import plan
from catalog.fitting.calc.plan_types import Group, PlanPiece, PlanWearer, Problem, Role
from catalog.fitting.calc.shortage import shortages
from catalog.fitting.calc.shortage_bands import short_bands
from catalog.fitting.calc.shortage_makes import make_counts
from tests.fitting.calc.plan_worlds import every_plan, four_by_five, order, reached, yes

ROLE = Role("R", 3, ("coat", "hat"))
COAT = PlanPiece("c", "R", "coat")
PEOPLE = tuple(PlanWearer(f"w{number}") for number in range(3))
UNKNOWN = Fit(Verdict.UNKNOWN, None, 0, Reason.UNKNOWN, ("chest of the piece not measured",))


@pytest.mark.parametrize(
    "problem",
    [
        Problem((), (), (), {}),
        Problem((ROLE,), (), (COAT,), {}),  # an empty roster
        Problem((), PEOPLE, (COAT,), {("w0", "c"): yes()}),  # nothing asked for
        Problem((replace(ROLE, need=0),), PEOPLE, (COAT,), {("w0", "c"): yes()}),
        Problem((replace(ROLE, slots=(), need=0),), PEOPLE, (COAT,), {}),  # a role without slots
        Problem((ROLE,), PEOPLE, (), {}),  # an empty store
        Problem((ROLE,), PEOPLE, (COAT,), {(w.code, "c"): UNKNOWN for w in PEOPLE}),  # nothing measured
        Problem((ROLE,), PEOPLE, (COAT,), {("w0", "c"): yes(), ("gone", "c"): yes(), ("w0", "gone"): yes()}),
        Problem((replace(ROLE, groups=(Group("dye", ("coat", "hat")),)),), PEOPLE, (COAT,), {("w0", "c"): yes()}),
        Problem((ROLE,), PEOPLE, (COAT,), {("w0", "c"): yes()}, with_making=True),  # nothing may be made
    ],
)
def test_nobody_is_dressed_and_everybody_left_out_has_a_reason(problem: Problem) -> None:
    answer = plan(problem)
    assert (answer.total, answer.assignments, answer.gap) == (0, (), 0.0)
    assert [left.wearer for left in answer.left_out] == [wearer.code for wearer in problem.wearers]
    assert all(left.sentence.endswith(".") for left in answer.left_out)
    assert set(answer.limits) == {role.code for role in problem.roles}
    shortages(problem)
    make_counts(problem)
    short_bands(problem, {wearer.code: {"chest": 1000} for wearer in problem.wearers})


def test_a_slot_with_no_measured_piece_is_unknown_never_a_yes() -> None:
    hats = tuple(PlanPiece(f"h{number}", "R", "hat") for number in range(3))
    coats = tuple(PlanPiece(f"c{number}", "R", "coat") for number in range(3))
    fits = {(w.code, p.code): yes() for w in PEOPLE for p in coats} | {
        (w.code, p.code): UNKNOWN for w in PEOPLE for p in hats
    }
    answer = plan(Problem((ROLE,), PEOPLE, (*coats, *hats), fits))
    assert answer.total == 0
    assert {left.reason for left in answer.left_out} == {Reason.UNKNOWN}
    assert "not measured" in answer.left_out[0].sentence


def test_everything_may_be_made_for_a_role_without_a_single_piece() -> None:
    makeable = frozenset((w.code, "R", slot) for w in PEOPLE for slot in ROLE.slots)
    answer = plan(Problem((replace(ROLE, need=2),), PEOPLE, (), {}, with_making=True, makeable=makeable))
    assert (answer.total, len(answer.make), answer.gap) == (2, 4, 0.0)


@pytest.mark.parametrize("number", range(6))
def test_a_set_that_holds_two_pieces_for_a_slot_or_pieces_of_two_roles(number: int) -> None:
    """Against every plan: all pieces of the store in one set, or in two."""
    asked = four_by_five(number)
    pieces = tuple(replace(piece, set_code="S" if at % 4 else "T") for at, piece in enumerate(asked.pieces))
    problem = replace(asked, pieces=pieces)
    assert reached(plan(problem)) == max((values for values, _ in every_plan(problem)), key=order)


def test_five_thousand_performers_get_an_honest_answer_soon() -> None:
    """For a store of 20 sets, with a second of time for the search: the best so far, and the bound beside it."""
    problem = crowd(people=5000, sets=20, seed=1)
    begun = process_time()
    answer = plan(problem, time_limit_s=1.0)
    assert process_time() - begun < 30
    dressed = next(aim for aim in answer.aims if aim.name == "people dressed")
    assert 15 <= dressed.value <= dressed.bound <= 20
    assert len(answer.left_out) == 5000 - answer.total
