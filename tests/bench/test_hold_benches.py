"""The benches of holds: a real race and a real comparison in small, and what is no measurement says so.

Outside check of `clash_check`: the questions are answered a third time by plain sets of days.
"""

from collections import defaultdict
from datetime import date, timedelta
from typing import Any

import pytest

from catalog.desk.bench import clash_run, hold_benches, hold_run
from catalog.desk.bench.measuring import BenchError
from catalog.loans.models import HoldDay
from catalog.pieces.models import Piece
from tests.cast import make_cast
from tests.loans.world import make_piece, make_stage

OURS = {"rounds": 4, "one_winner": 4, "whole": 4, "losers": 28, "told": 28, "most_winners": 1} | {
    "errors": [],
    "seconds": 1,
}
NAIVE = OURS | {"rounds": 1, "one_winner": 0, "most_winners": 5}
CLASH = {"days": 500, "questions": 72, "clashes": 9, "ours_ms": 2.0, "bare_ms": 1.0}


def test_a_real_race_in_small(transactional_db: None) -> None:
    stage = make_stage()
    told = hold_run.hold_by_all(make_cast().archivist, stage.coats, clients=8, rounds=3)
    assert told.errors == ()
    assert (told.one_winner, told.whole, told.losers, told.told, told.most_winners) == (3, 3, 21, 21, 1)


def test_rounds_are_judged_by_winners_and_by_what_losers_were_told() -> None:
    told = [("won", "R0-1"), ("lost", "x is firmly held by R0-1 for unit R0-1"), ("lost", "somebody has it")]
    two = [("won", "R1-0"), ("won", "R1-2"), ("error", "OperationalError('database is locked')")]
    found = hold_run.judged([told, two], 1, 2.0)
    assert (found.rounds, found.one_winner, found.losers, found.told, found.most_winners) == (2, 1, 2, 1, 2)
    assert found.errors == ("OperationalError('database is locked')",)


def answers(monkeypatch: pytest.MonkeyPatch, found: dict[str, Any], why_not: str = "") -> None:
    monkeypatch.setattr(hold_benches, "on_both", lambda *words: (found, why_not))
    monkeypatch.setattr(hold_benches, "CLIENTS", 8)


def test_the_worse_database_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    both = {"SQLite": {"ours": OURS, "naive": NAIVE}, "PostgreSQL": {"ours": OURS | {"one_winner": 3}, "naive": NAIVE}}
    answers(monkeypatch, both)
    line = hold_benches.hold_race()
    assert (line.value, line.baseline_value, line.goal, line.ok) == (0.75, 0, "1 on SQLite and PostgreSQL", False)
    answers(monkeypatch, {"SQLite": both["SQLite"]}, "no server")
    line = hold_benches.hold_race()
    assert (line.value, line.goal, line.ok) == (1, "1 on SQLite alone", True)
    assert "PostgreSQL not tried: no server" in line.baseline


@pytest.mark.parametrize(
    ("ours", "naive"),
    [({"told": 27}, {}), ({"whole": 3}, {}), ({"losers": 27}, {}), ({}, {"one_winner": 1})],
    ids=["a loser not told", "days that do not stand", "a loser lost", "a plain way that was not beaten"],
)
def test_what_misses_the_goal(monkeypatch: pytest.MonkeyPatch, ours: dict[str, int], naive: dict[str, int]) -> None:
    answers(monkeypatch, {"SQLite": {"ours": OURS | ours, "naive": NAIVE | naive}})
    assert not hold_benches.hold_race().ok


def test_an_error_is_no_measurement(monkeypatch: pytest.MonkeyPatch) -> None:
    answers(monkeypatch, {"SQLite": {"ours": OURS | {"errors": ["locked"]}, "naive": NAIVE}})
    with pytest.raises(BenchError, match="SQLite: a hold failed: locked"):
        hold_benches.hold_race()


@pytest.mark.parametrize(("ours_ms", "ok"), [(2.9, True), (3.1, False)])
def test_the_goal_of_a_clash_is_three_times_the_bare_sql(
    monkeypatch: pytest.MonkeyPatch, ours_ms: float, ok: bool
) -> None:
    answers(monkeypatch, {"SQLite": CLASH, "PostgreSQL": CLASH | {"ours_ms": ours_ms}})
    line = hold_benches.clash_check()
    assert (line.ratio, line.ok) == (ours_ms, ok)
    assert f"SQLite 2.00 times, PostgreSQL {ours_ms:.2f} times" in line.baseline


def by_sets(asked: clash_run.Question) -> list[tuple[Any, ...]]:
    """Every held day looked at one by one."""
    window = {asked.first + timedelta(days=n) for n in range((asked.last - asked.first).days + 1)}
    held: dict[tuple[Any, ...], set[date]] = defaultdict(set)
    for one in HoldDay.objects.select_related("hold", "piece"):
        if one.piece_id in asked.pieces and one.day in window:
            held[one.piece_id, one.piece.number, one.hold.reference, one.hold.for_whom].add(one.day)
    found = [(*who, min(days), max(days), len(days)) for who, days in held.items()]
    return sorted(found, key=lambda row: (row[1], row[4]))


def test_ours_the_bare_sql_and_plain_sets_agree(db: None) -> None:
    stage = make_stage()
    slot = stage.coat.slot
    assert slot is not None
    pieces = [make_piece(stage.production, stage.piper, slot, n) for n in range(100, 160)]
    assert clash_run.hold_days(make_cast().archivist, pieces, 1500) == HoldDay.objects.count() == 1500
    last = HoldDay.objects.order_by("-day")[0].day
    asked = clash_run.questions(list(Piece.objects.filter(pk__in=[one.pk for one in pieces]).order_by("pk")), last)
    clashes = 0
    for one in asked[::5]:
        assert clash_run.ask_ours(one) == clash_run.ask_bare(one) == by_sets(one)
        clashes += len(clash_run.ask_ours(one))
    assert clashes > 50
