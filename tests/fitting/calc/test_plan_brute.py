"""The planner against every assignment of 4 performers x 5 pieces x 3 slots, on both of its ways to a proof."""

import pytest

from catalog.fitting.calc import plan_solve
from catalog.fitting.calc.plan import plan
from tests.fitting.calc.plan_worlds import every_plan, four_by_five, order, reached
from tests.fitting.calc.test_demo_call import assert_valid

SEEDS = range(60)


@pytest.fixture(scope="module")
def enumerated() -> dict[int, tuple[int, int, int, int]]:
    return {number: max((values for values, _ in every_plan(four_by_five(number))), key=order) for number in SEEDS}


@pytest.mark.parametrize("at_once", [True, False])
def test_no_plan_of_all_is_better(
    enumerated: dict[int, tuple[int, int, int, int]], at_once: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All at once in one program, and by prices with as few columns as can be."""
    if not at_once:
        monkeypatch.setattr(plan_solve, "DIRECT_COLUMNS", 0)
        monkeypatch.setattr(plan_solve, "FIRST_PAIRS", 1)
        monkeypatch.setattr(plan_solve, "FIRST_SEARCH", 6)
    for number, best in enumerated.items():
        problem = four_by_five(number)
        answer = plan(problem)
        assert reached(answer) == best, number
        assert answer.gap == 0
        assert_valid(problem, answer)


def test_the_instances_bite(enumerated: dict[int, tuple[int, int, int, int]]) -> None:
    """Not everybody dressed, pieces made, whole sets: each at stake in a good part of the instances."""
    problems = [four_by_five(number) for number in SEEDS]
    short = [best[0] < 4 for best in enumerated.values()]
    assert sum(short) >= 15
    assert sum(best[1] > 0 for best in enumerated.values()) >= 6
    assert sum(best[2] > 0 for best in enumerated.values()) >= 10
    assert sum(bool(problem.roles[0].groups) for problem in problems) >= 20
    assert sum(len(problem.roles) > 1 for problem in problems) >= 15
