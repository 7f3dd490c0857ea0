"""The measurement of the search on few losses: its keys and goal, the same losses each time, and the plain rule."""

import pytest

from catalog.desk.bench import search_benches
from catalog.desk.bench.lost_world import ERRORS, losses
from catalog.desk.bench.measuring import BenchError


def test_ours_finds_more_than_the_plain_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search_benches, "LOSSES", 40)
    line = search_benches.where_to_look()
    assert (line.name, line.unit, line.goal) == ("where_to_look", "%", "at least 1.1")
    assert "40 simulated losses" in line.baseline
    assert line.ratio == pytest.approx(line.value / line.baseline_value, rel=0.01)
    assert line.ok


def test_the_losses_are_mixed_and_the_same_every_time() -> None:
    once, again = losses(12, 5), losses(12, 5)
    assert [(one.truth, one.error, one.clues.lost) for one in once] == [
        (one.truth, one.error, one.clues.lost) for one in again
    ]
    assert len({one.error for one in once}) > 3
    assert {one.error for one in once} <= set(ERRORS)
    assert all(one.truth in one.clues.spots for one in once)


def test_where_nothing_is_found_nothing_is_compared(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search_benches, "LOSSES", 3)
    monkeypatch.setattr(search_benches, "_plain", lambda loss, searched: None)
    with pytest.raises(BenchError, match="nothing to compare"):
        search_benches.where_to_look()
