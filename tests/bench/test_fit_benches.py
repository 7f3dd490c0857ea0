"""The measurements of the fit on a small crowd: the keys, the goals, and that unequal answers are no measurement."""

import numpy as np
import pytest

from catalog.desk.bench import fit_benches
from catalog.desk.bench.fit_crowd import POINTS, TAPED, crowd
from catalog.desk.bench.measuring import BenchError
from catalog.fitting.calc.body import beliefs


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fit_benches, "crowd", lambda people=12, pieces=60: crowd(min(people, 12), pieces))
    monkeypatch.setattr(fit_benches, "ROUNDS", 1)
    monkeypatch.setattr(fit_benches, "SAMPLE", 12)


@pytest.mark.parametrize(
    ("name", "goal"),
    [("fit_probability", "at least 1000"), ("fit_overhead", "at most 2"), ("one_performer", "at most 5 ms")],
)
def test_each_tells_value_baseline_and_goal(name: str, goal: str) -> None:
    line = fit_benches.FIT_BENCHES[name]()
    assert (line.name, line.unit, line.goal) == (name, "ms", goal)
    assert line.value > 0
    assert line.baseline_value > 0
    ours_by_baseline = name == "fit_overhead"
    ratio = line.value / line.baseline_value if ours_by_baseline else line.baseline_value / line.value
    assert line.ratio == pytest.approx(ratio, rel=0.3)


def test_the_extrapolation_is_said() -> None:
    assert "12 pairs timed, extrapolated to 720" in fit_benches.fit_probability().baseline


def test_likelihoods_that_differ_from_scipys_are_no_measurement() -> None:
    ours = np.array([0.5, 0.5, 0.5])
    fit_benches._agree(ours, ours + 0.004)
    for theirs in (ours + np.array([0.05, 0, 0]), ours + 0.011):
        with pytest.raises(BenchError, match="off scipy's"):
            fit_benches._agree(ours, theirs)


def test_the_crowd_is_mixed_and_the_same_every_time() -> None:
    once, again = crowd(20, 40), crowd(20, 40)
    assert once.people == again.people
    assert (once.rack.low == again.rack.low).all()
    assert set(once.rack.points) == set(POINTS)
    assert {len(person.measures) for person in once.people} == set(range(2, 3 + len(TAPED)))
    covariances = {round(float(beliefs(person)[0][1].cov[2, 2]), 9) for person in once.people}
    assert len(covariances) > 5
