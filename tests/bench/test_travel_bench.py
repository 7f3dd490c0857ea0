"""The measurement of the travel check: both hear the same rules, and a store without rules is no measurement."""

import json
from pathlib import Path
from typing import Any

import pytest

from catalog.desk.bench import travel_benches
from catalog.desk.bench.measuring import BenchError
from catalog.desk.bench.travel_world import ROUTES, pieces
from catalog.shipping.calc.rules import RuleBook, rule_book_from_json

RULES = Path(__file__).parents[2] / "fixtures" / "house" / "travel_rules.json"


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setattr(travel_benches, "PIECES", 60)
    return monkeypatch


def test_both_hear_the_same_rules(small: pytest.MonkeyPatch) -> None:
    book = rule_book_from_json(json.loads(RULES.read_text(encoding="utf-8")))
    small.setattr(travel_benches, "rule_book", lambda: book)
    line = travel_benches.travel_check()
    assert (line.name, line.goal) == ("travel_check", "at most 20")
    assert "60 pieces by 3 routes" in line.baseline


def test_a_rule_that_is_not_heard_stops_it(small: pytest.MonkeyPatch) -> None:
    book = rule_book_from_json(json.loads(RULES.read_text(encoding="utf-8")))
    small.setattr(travel_benches, "rule_book", lambda: book)
    small.setattr(travel_benches, "_spoken", lambda found: set())
    with pytest.raises(BenchError):
        travel_benches.travel_check()


def test_without_rules_there_is_nothing_to_measure(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(travel_benches, "rule_book", lambda: RuleBook(()))
    with pytest.raises(BenchError, match="No travel rule"):
        travel_benches.travel_check()


def test_the_pieces_are_the_same_every_time() -> None:
    assert pieces(40, 3) == pieces(40, 3) != pieces(40, 4)
    assert len({mode for mode, _ in ROUTES}) == len(ROUTES) == 3
