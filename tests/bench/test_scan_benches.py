"""The scanning benches in small: rates with baselines, and that unequal or failing programs are no measurement."""

import json
import subprocess
from typing import Any

import pytest

from catalog.desk.bench import scan_benches
from catalog.desk.bench.measuring import BenchError


def test_both_rates_in_small(monkeypatch: pytest.MonkeyPatch) -> None:
    """A real run: the subprocess makes its store, scans, and finds both programs leaving the same rows."""
    monkeypatch.setattr(scan_benches, "SCANS", 60)
    monkeypatch.setattr(scan_benches, "ROUNDS", 1)
    line = scan_benches.scan_write()
    assert (line.name, line.unit, line.goal) == ("scan_write", "scans/s", "at most 3")
    assert line.ratio == pytest.approx(line.baseline_value / line.value, rel=0.02)
    assert line.ok == (line.ratio <= 3)
    assert "same 9 statements" in line.baseline


def answers(monkeypatch: pytest.MonkeyPatch, told: dict[str, Any], code: int = 0) -> None:
    def run(words: list[str], **around: Any) -> subprocess.CompletedProcess[str]:
        assert "DATABASE_URL" not in around["env"]
        assert "wrapkeep-scan-" in around["env"]["WRAPKEEP_DATA"]
        return subprocess.CompletedProcess(words, code, json.dumps(told), "it went wrong")

    monkeypatch.setattr(scan_benches.subprocess, "run", run)


def test_sixteen_writers_are_counted_by_what_was_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    answers(monkeypatch, {"ours": [[900, 0], [960, 0], [930, 0]], "plain": [[90, 700], [60, 500], [120, 800]]})
    line = scan_benches.scan_write_16()
    assert (line.value, line.baseline_value, line.goal, line.ok) == (310, 30, "at least 5", True)
    assert line.ratio == pytest.approx(10.33)
    assert "2,000 times “database is locked”" in line.baseline


def test_an_error_of_ours_or_a_lost_scan_is_no_measurement(monkeypatch: pytest.MonkeyPatch) -> None:
    answers(monkeypatch, {"ours": [[900, 1]], "plain": [[90, 700]]})
    with pytest.raises(BenchError, match="1 scans of 16 writers failed"):
        scan_benches.scan_write_16()
    answers(monkeypatch, {"differ": "ours"})
    with pytest.raises(BenchError, match="do not leave the same behind"):
        scan_benches.scan_write_16()
    answers(monkeypatch, {}, code=1)
    with pytest.raises(BenchError, match="it went wrong"):
        scan_benches.scan_write()
