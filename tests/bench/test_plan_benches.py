"""The planner's benches in small: the same steps on crowds that take moments."""

import pytest

from catalog.desk.bench import plan_benches
from catalog.desk.bench.benches import BENCHES
from catalog.desk.bench.measuring import BenchError
from catalog.desk.bench.plain_plan import plain_aims, plain_plan
from catalog.desk.bench.plan_benches import against_plain, peak_mb, proven
from catalog.desk.bench.plan_crowds import AMPLE, crowd
from catalog.fitting.calc.plan import plan


def test_a_small_crowd_is_measured_with_equal_values_asserted() -> None:
    line = against_plain("small", crowd(people=20, sets=30, seed=3), goal=0)
    assert (line.name, line.unit, line.goal, line.ok) == ("small", "ms", "at least 0", True)
    assert line.ratio == pytest.approx(line.baseline_value / line.value, rel=0.05)


def test_both_plain_programs_agree() -> None:
    problem = crowd(people=12, sets=14, seed=2)
    assert plain_plan(problem) == plain_aims(problem) == proven(problem)


def test_the_memory_of_a_process_is_counted() -> None:
    assert 20 < peak_mb(people=20, sets=30) < 1000


def test_unproven_plans_are_no_measurement(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_benches, "plan", lambda problem: plan(problem, time_limit_s=0.0))
    with pytest.raises(BenchError, match="not proven"):
        proven(crowd(people=40, sets=40, seed=4, short=0.3))


def test_the_crowds_are_as_dense_as_they_say_and_the_same_every_time() -> None:
    problem = crowd(people=40, sets=60, seed=3)
    for slot in AMPLE:
        own = {piece.code for piece in problem.pieces if piece.slot == slot.code}
        fitting = sum(code in own for _, code in problem.fits)
        assert fitting / (40 * 60) == pytest.approx(slot.density, abs=0.01)
    assert problem == crowd(people=40, sets=60, seed=3)
    assert problem != crowd(people=40, sets=60, seed=4)
    assert 0.2 <= min(slot.density for slot in AMPLE) <= max(slot.density for slot in AMPLE) <= 0.5


def test_all_are_known_by_name() -> None:
    assert {"plan_demo", "plan_200", "plan_400", "plan_400_memory"} <= set(BENCHES)
