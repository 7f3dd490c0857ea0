"""The label benches in small: both programs draw the same codes, and neither measurement is made of nothing."""

import pytest

from catalog.core.codes import make_code
from catalog.core.qr import qr_many
from catalog.desk.bench import label_benches
from catalog.desk.bench.measuring import BenchError


def test_both_measurements_are_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(label_benches, "MANY", 8)
    monkeypatch.setattr(label_benches, "ROUNDS", 1)
    time, size = label_benches.labels_1000(), label_benches.labels_1000_size()
    assert (time.name, time.unit, time.goal) == ("labels_1000", "ms", "at least 10")
    assert time.ratio == pytest.approx(time.baseline_value / time.value, rel=0.05)
    assert (size.name, size.unit) == ("labels_1000_size", "kB")
    assert size.baseline_value > 8, "more than a kilobyte a picture"


def test_other_codes_are_no_measurement(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(label_benches, "MANY", 2)
    monkeypatch.setattr(label_benches, "qr_many", lambda texts: qr_many(text[:-1] + "0" for text in texts))
    with pytest.raises(BenchError, match=f"draw {make_code('P', 1)} differently"):
        label_benches.labels_1000()
