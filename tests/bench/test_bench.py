"""`bench`: the keys it prints, what it refuses, and that a measurement of unequal programs means nothing."""

import json
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from catalog.desk.bench import benches
from catalog.desk.bench.measuring import BenchError, Timed, interleaved, measured
from catalog.desk.bench.plain_plan import plain_plan
from catalog.fitting.calc.plan import plan
from catalog.fitting.queries import dry_run
from tests.demo_world import DemoWorld


def test_plan_demo_prints_its_documented_keys(demo_world: DemoWorld, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(benches, "ROUNDS", 1)
    out, err = StringIO(), StringIO()
    call_command("bench", "plan_demo", "--json", stdout=out, stderr=err)
    (line,) = json.loads(out.getvalue())
    assert set(line) == {"name", "value", "unit", "baseline", "baseline_value", "ratio", "goal", "ok"}
    assert (line["name"], line["unit"]) == ("plan_demo", "ms")
    assert line["goal"].startswith("at least ")
    assert line["ratio"] == pytest.approx(line["baseline_value"] / line["value"], rel=0.02)
    assert line["ok"] == (line["ratio"] >= float(line["goal"].removeprefix("at least ")))
    assert "own database" in err.getvalue()


def test_both_planners_agree_in_every_aim(demo_world: DemoWorld) -> None:
    problem = dry_run(demo_world.call, found=["T14"], with_making=True).problem
    reached = tuple(aim.value for aim in plan(problem).aims)
    assert plain_plan(problem) == reached
    assert reached[:2] == (20, 10)


def test_a_wrong_name_is_one_clear_line() -> None:
    with pytest.raises(CommandError, match=r"^There is no bench nix; there are: plan_demo, .*fit_probability.*\.$"):
        call_command("bench", "nix")


def test_a_database_without_a_demo_is_said(db: None) -> None:
    with pytest.raises(BenchError, match="no demo"):
        benches.plan_demo()


def test_unequal_answers_are_no_measurement() -> None:
    with pytest.raises(BenchError, match="do not agree"):
        interleaved(lambda: 1, lambda: 2, rounds=1)


def test_programs_take_turns_and_the_median_stands() -> None:
    told: list[str] = []

    def ours() -> int:
        told.append("a")
        return 1

    def plain() -> int:
        told.append("b")
        return 1

    timed = interleaved(ours, plain, rounds=3)
    assert "".join(told) == "ab" + "ab" + "ba" + "ab"
    assert timed.answer == 1


@pytest.mark.parametrize(
    ("sense", "ours", "base", "goal", "ratio", "ok"),
    [
        ("at least", 1.0, 3.0, 2.0, 3.0, True),
        ("at least", 1.0, 1.5, 2.0, 1.5, False),
        ("at most", 3.0, 2.0, 1.5, 1.5, True),
        ("at most", 4.0, 2.0, 1.5, 2.0, False),
    ],
)
def test_ratio_and_goal(sense: Any, ours: float, base: float, goal: float, ratio: float, ok: bool) -> None:
    line = measured("x", Timed(ours, base, 1), baseline="plain", goal=goal, sense=sense)
    assert (line.ratio, line.ok, line.value, line.baseline_value) == (ratio, ok, 1000 * ours, 1000 * base)
