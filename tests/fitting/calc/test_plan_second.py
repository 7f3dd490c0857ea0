"""Second-best plans and locks, against an enumeration of every plan of small problems."""

from dataclasses import replace

import pytest

from catalog.fitting.calc.plan import plan
from catalog.fitting.calc.plan_second import other_people, second_best, with_lock
from catalog.fitting.calc.plan_types import Assignment, Lock, PlanError, PlanPiece, PlanWearer, Problem, Role
from tests.fitting.calc import demo_world
from tests.fitting.calc.plan_worlds import every_plan, order, reached, small, yes
from tests.fitting.calc.test_demo_call import assert_valid

SEEDS = (0, 1, 3, 4, 5, 6, 7, 8, 11, 12, 13)  # in the others nobody is dressed


@pytest.mark.parametrize("number", SEEDS)
def test_the_second_best_is_the_best_of_all_other_plans(number: int) -> None:
    problem = small(number)
    best = plan(problem)
    mine = set(best.assignments)
    others = [values for values, lines in every_plan(problem) if not mine <= set(lines)]
    found = second_best(problem, best)
    assert reached(found.plan) == max(others, key=order)
    assert not mine <= set(found.plan.assignments)
    assert_valid(problem, found.plan)


@pytest.mark.parametrize("number", SEEDS)
def test_without_one_choice_and_with_other_people(number: int) -> None:
    problem = small(number)
    best = plan(problem)
    every = list(every_plan(problem))
    for line in best.assignments[:3]:
        found = second_best(problem, best, without=[line])
        assert line not in found.plan.assignments
        assert reached(found.plan) == max((v for v, lines in every if line not in lines), key=order)
    people = {(line.wearer, line.role) for line in best.assignments}
    others = [v for v, lines in every if not people <= {(line.wearer, line.role) for line in lines}]
    found = other_people(problem, best)
    assert reached(found.plan) == max(others, key=order)


@pytest.mark.parametrize("number", SEEDS)
def test_a_lock_costs_what_the_best_plan_with_it_costs(number: int) -> None:
    """Every lock that the fits allow, against the enumeration; one of the best plan's own choices costs nothing."""
    problem = small(number)
    best = plan(problem)
    every = list(every_plan(problem))
    lines = {line for _, own in every for line in own}
    for line in sorted(lines, key=str)[:8]:
        found = with_lock(problem, best, Lock(line.wearer, line.role, line.slot, line.piece))
        wanted = max((v for v, own in every if line in own), key=order)
        assert found.kept
        assert reached(found.plan) == wanted
        assert found.cost.free == (wanted == reached(best))
        assert found.cost.sure
        if line in best.assignments:
            assert found.cost.free


def test_a_lock_of_any_choice_of_the_invented_calls_plan_keeps_its_value() -> None:
    problem = demo_world.problem()
    best = plan(problem)
    for line in best.assignments[::9]:
        found = with_lock(problem, best, Lock(line.wearer, line.role, line.slot, line.piece))
        assert found.kept
        assert found.cost.free, (line, found.cost.sentence)


def two_coats() -> Problem:
    """w0 fits both coats, w1 only the first."""
    fits = {("w0", "a"): yes(90), ("w0", "b"): yes(80), ("w1", "a"): yes(70)}
    pieces = (PlanPiece("a", "R", "coat", "S"), PlanPiece("b", "R", "coat"))
    return Problem((Role("R", 2, ("coat",)),), (PlanWearer("w0"), PlanWearer("w1")), pieces, fits)


def test_what_it_costs_is_said_in_words() -> None:
    problem = two_coats()
    best = plan(problem)
    locked = with_lock(problem, best, Lock("w0", "R", "coat", "a"))
    assert [(one.aim, one.best, one.other) for one in locked.cost.differences] == [
        ("people dressed", 2, 1),
        ("fit", 150, 90),
    ]
    assert locked.cost.sentence == "Against the best plan: 1 fewer performer dressed, 60 fewer points of fit."
    same = with_lock(problem, best, Lock("w0", "R", "coat", "b"))
    assert same.cost.sentence.startswith("Costs nothing")


def test_a_lock_whose_wearer_cannot_be_dressed_is_not_kept_and_says_so() -> None:
    problem = two_coats()
    role = replace(problem.roles[0], slots=("coat", "hat"))
    found = with_lock(
        replace(problem, roles=(role,)), plan(replace(problem, roles=(role,))), Lock("w0", "R", "coat", "a")
    )
    assert not found.kept


def test_there_is_nothing_to_compare_with_when_nobody_is_dressed() -> None:
    empty = Problem((), (), (), {})
    for ask in (second_best, other_people):
        with pytest.raises(PlanError, match="dresses nobody"):
            ask(empty, plan(empty))


def test_a_choice_that_the_plan_does_not_take_is_refused() -> None:
    problem = two_coats()
    with pytest.raises(PlanError, match="w1 does not wear b"):
        second_best(problem, plan(problem), without=[Assignment("w1", "R", "coat", "b")])
    with pytest.raises(PlanError, match="w9 is not dressed"):
        other_people(problem, plan(problem), without=["w9"])


def test_an_early_stop_is_said() -> None:
    problem = two_coats()
    best = plan(problem)
    stopped = second_best(problem, replace(best, gap=0.5))
    assert not stopped.cost.sure
    assert "stopped early" in stopped.cost.sentence
