"""The bench of returns at once: a real run in small, and that a lost return is no measurement."""

import json
import subprocess
from typing import Any

import pytest

from catalog.desk.bench import return_benches
from catalog.desk.bench.measuring import BenchError

ONE = {"kept": 200, "twice": 0, "errors": [], "quarantined": 200, "told": 200, "seconds": 4.0}


def test_a_real_run_in_small(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(return_benches, "RETURNS", 12)
    line = return_benches.returns_at_once()
    assert (line.value, line.baseline_value, line.ratio, line.goal, line.ok) == (12, 12, 1, "all 12", True)
    assert "12 second scans told that it is back already" in line.baseline


def answers(monkeypatch: pytest.MonkeyPatch, many: dict[str, Any], faults: int = 0, code: int = 0) -> None:
    told = {"one": ONE, "many": ONE | {"twice": 200} | many, "faults": faults}

    def run(words: list[str], **around: Any) -> subprocess.CompletedProcess[str]:
        assert "DATABASE_URL" not in around["env"]
        return subprocess.CompletedProcess(words, code, json.dumps(told), "it went wrong")

    monkeypatch.setattr(return_benches.subprocess, "run", run)


@pytest.mark.parametrize("lost", [{"quarantined": 199}, {"told": 199}, {"kept": 201}, {"twice": 199}])
def test_a_lost_or_doubled_return_misses_the_goal(monkeypatch: pytest.MonkeyPatch, lost: dict[str, int]) -> None:
    answers(monkeypatch, lost)
    assert not return_benches.returns_at_once().ok


def test_what_is_no_measurement_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    answers(monkeypatch, {"errors": ["MOOR-1: locked"]})
    with pytest.raises(BenchError, match="1 returns failed"):
        return_benches.returns_at_once()
    answers(monkeypatch, {}, faults=2)
    with pytest.raises(BenchError, match="2 history lines are broken"):
        return_benches.returns_at_once()
    answers(monkeypatch, {}, code=1)
    with pytest.raises(BenchError, match="it went wrong"):
        return_benches.returns_at_once()
