"""Crowds too large for one search: proven values, honest bounds when the time runs out, and progress."""

from dataclasses import replace
from time import monotonic

import numpy as np
import pytest

from catalog.desk.bench.plain_plan import plain_aims
from catalog.desk.bench.plan_crowds import crowd
from catalog.fitting.calc import plan_solve
from catalog.fitting.calc.plan import plan
from catalog.fitting.calc.plan_locks import check_locks
from catalog.fitting.calc.plan_model import build
from catalog.fitting.calc.plan_start import encoded, first_plan, greedy
from catalog.fitting.calc.plan_types import Plan, Problem, Progress
from tests.fitting.calc.plan_worlds import four_by_five, reached
from tests.fitting.calc.test_demo_call import assert_valid
from tests.fitting.calc.test_plan import SEEDS, second_archive, weighted


@pytest.mark.parametrize(("seed", "short"), [(1, 0.0), (2, 0.0), (3, 0.25)])
def test_seeded_archives_agree_with_the_full_program(seed: int, short: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Priced columns against every column at once, in all four aims (the full program is written another way)."""
    monkeypatch.setattr(plan_solve, "DIRECT_COLUMNS", 0)
    problem = crowd(people=40, sets=50, seed=seed, short=short)
    answer = plan(problem)
    assert reached(answer) == plain_aims(problem)
    assert answer.gap == 0
    assert_valid(full(problem), answer)


@pytest.mark.parametrize("groups", [0, 1, 2])
@pytest.mark.parametrize("with_making", [False, True])
def test_archives_with_match_groups_agree_too(groups: int, with_making: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_solve, "DIRECT_COLUMNS", 0)
    problem = second_archive(SEEDS[groups], groups, with_making=with_making)
    answer = plan(problem)
    assert reached(answer) == weighted(problem)
    assert answer.gap == 0
    assert_valid(problem, answer)


def full(problem: Problem) -> Problem:
    """With a fit for every pair, as the checks of a plan read them."""
    no = next(iter(problem.fits.values()))
    every = {(w.code, p.code): no for w in problem.wearers for p in problem.pieces}
    return replace(problem, fits={**every, **problem.fits})


def assert_honest(stopped: Plan, best: Plan) -> None:
    """What is claimed of a stopped search: its first open aim is bounded by no less than what can be reached."""
    for mine, real in zip(stopped.aims, best.aims, strict=True):
        low, high = sorted((mine.value, mine.bound))
        assert low <= real.value <= high
        assert (mine.gap == 0) == (mine.value == mine.bound)
        if mine.value != real.value:  # the later aims are reached under another condition
            break
    assert stopped.gap == max(aim.gap for aim in stopped.aims)


def test_when_the_time_runs_out_the_best_so_far_comes_back_with_its_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_solve, "DIRECT_COLUMNS", 0)
    problem = crowd(people=40, sets=40, seed=4, short=0.2)
    best = plan(problem)
    assert best.gap == 0
    for limit in (0.0, 0.05, 0.3):
        begun = monotonic()
        stopped = plan(problem, time_limit_s=limit)
        assert monotonic() - begun < 20
        assert_valid(full(problem), stopped)
        assert stopped.total >= len({line.wearer for line in greedy(build(problem, {}), set())}) > 0
        assert stopped.gap > 0 or limit > 0
        assert_honest(stopped, best)


@pytest.mark.parametrize("with_making", [False, True])
def test_no_time_at_all_is_no_error_in_one_search_either(with_making: bool) -> None:
    problem = second_archive(SEEDS[1], 1, with_making=with_making)
    stopped = plan(problem, time_limit_s=0.0)
    assert stopped.total > 0
    assert_valid(problem, stopped)
    assert_honest(stopped, plan(problem))


def test_progress_tells_each_aim_and_its_bound_only_falls(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_solve, "DIRECT_COLUMNS", 0)
    told: list[Progress] = []
    answer = plan(crowd(people=40, sets=50, seed=5), progress=told.append)
    assert list(dict.fromkeys(step.aim for step in told)) == [aim.name for aim in answer.aims]
    for aim in answer.aims:
        own = [step for step in told if step.aim == aim.name]
        assert [step.bound for step in own] == sorted((step.bound for step in own), reverse=True)
        assert [step.incumbent for step in own] == sorted(step.incumbent for step in own)
        assert (own[-1].incumbent, own[-1].bound) == (aim.value, aim.bound)


def test_the_plan_to_begin_with_breaks_no_row() -> None:
    """The greedy plan, as columns, is inside every row: what the search starts from is a plan."""
    for number in range(150):
        problem = four_by_five(number)
        model = build(problem, check_locks(problem))
        for lines in (greedy(model, set()), first_plan(model, set())):
            values = encoded(model, lines)
            sums = model.matrix @ values
            assert np.all(sums >= model.low - 1e-9), number
            assert np.all(sums <= model.high + 1e-9), number
            assert set(np.unique(values)) <= {0.0, 1.0}
