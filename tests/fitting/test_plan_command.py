"""`plan REF` in the terminal: the same answer as the page, documented keys, one clear line for a wrong word."""

import json
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from catalog.core.models import HistoryLine
from catalog.fitting.calc.plan import plan
from catalog.fitting.calc.plan_types import Plan as Planned
from catalog.fitting.calc.plan_types import Problem
from catalog.fitting.models import Plan
from catalog.fitting.queries import dry_run
from catalog.loans import actions as loans
from catalog.loans.models import HoldDay
from tests.demo_world import DemoWorld


def run(*words: str) -> tuple[str, str]:
    out, err = StringIO(), StringIO()
    call_command("plan", *words, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def test_json_of_a_supposed_plan(demo_world: DemoWorld) -> None:
    before = HistoryLine.objects.count(), Plan.objects.count(), HoldDay.objects.count()
    words = ("--as-if-found", "t14", "--as-if-released", "H-02", "--with-making")
    answer = json.loads(run("rs-2026-01", "--json", *words)[0])
    assert (answer["total"], sum(answer["dressed"].values()), len(answer["make"])) == (20, 20, 6)
    assert sum(answer["whole_sets"].values()) >= 8
    assert {tuple(sorted(make)) for make in answer["make"]} == {("role", "slot", "wearer")}
    made = [line for line in answer["assignments"] if line["piece"] is None]
    assert len(made) == 6
    assert {left["wearer"] for left in answer["left_out"]}.isdisjoint({x["wearer"] for x in answer["assignments"]})
    assert answer["gap"] == 0
    # Nothing is stored.
    assert (HistoryLine.objects.count(), Plan.objects.count(), HoldDay.objects.count()) == before


def test_a_few_lines_for_a_reader(demo_world: DemoWorld) -> None:
    out, err = run("RS-2026-01")
    assert out.startswith("RS-2026-01: 13 of 20 can be dressed.")
    assert "Harbour Diver: 6 of 10" in out
    assert "E14 (size)" in out
    assert "freeze" in out
    assert err == ""


def test_sizes_from_cards_warn_and_give_a_range(demo_world: DemoWorld) -> None:
    out, err = run("RS-2026-01", "--sizes", "card")
    assert "between" in out
    assert "Body data may follow" in err
    answer = json.loads(run("RS-2026-01", "--sizes", "card", "--json")[0])
    assert answer["range"]["sure"] < answer["range"]["possible"]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("NO-SUCH",), "There is no call NO-SUCH."),
        (("RS-2026-01", "--as-if-found", "T99"), "there is no place or trunk T99"),
        (("RS-2026-01", "--as-if-released", "H-99"), "there is no hold H-99"),
        (("RS-2026-01", "--sizes", "guess"), "invalid choice: 'guess'"),
        (("RS-2026-01", "--seconds", "0"), "--seconds must be more than nothing."),
    ],
)
def test_a_wrong_word_is_one_clear_line(demo_world: DemoWorld, words: Any, sentence: str) -> None:
    with pytest.raises(CommandError) as told:
        run(*words)
    assert sentence in str(told.value)
    assert "\n" not in str(told.value)


def test_a_crowd_is_told_how_far_it_is(demo_world: DemoWorld) -> None:
    call = demo_world.call
    for number in range(90):
        loans.add_wearer(by=demo_world.cast.production, call=call, number=f"X{number}", name="")
    out, err = run(call.reference, "--seconds", "30")
    assert "people dressed: 13 so far, 13 cannot be passed" in err
    assert f"{call.reference}: 13 of 20 can be dressed." in out


def test_a_planner_of_ones_own_answers_the_dry_run(demo_world: DemoWorld) -> None:
    asked = []

    def planner(problem: Problem) -> Planned:
        asked.append(len(problem.wearers))
        return plan(problem, time_limit_s=5)

    run = dry_run(demo_world.call, planner=planner)
    assert asked == [24]
    assert run.at_most == run.plan.total == 13
