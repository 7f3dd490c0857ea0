"""The measurement of packing: near the least number of crates, never above first fit, and honest when it is wrong."""

import pytest

from catalog.desk.bench import pack_benches
from catalog.desk.bench.measuring import BenchError
from catalog.desk.bench.pack_world import BOUND_BY, load
from catalog.shipping.calc.pack_problem import Packing, Problem


def test_near_the_least_number_of_crates(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pack_benches, "PIECES", 120)
    line = pack_benches.pack_500()
    assert (line.name, line.unit, line.goal) == ("pack_500", "crates", "at most 1.15")
    assert line.ratio == pytest.approx(line.value / line.baseline_value, abs=0.001)
    assert line.ok


def test_a_packing_that_loses_pieces_stops_it(monkeypatch: pytest.MonkeyPatch) -> None:
    def loses(problem: Problem) -> Packing:
        return Packing(())

    monkeypatch.setattr(pack_benches, "PIECES", 12)
    monkeypatch.setattr(pack_benches, "pack", loses)
    with pytest.raises(BenchError, match="neither packed nor named"):
        pack_benches.pack_500()


def test_the_loads_are_the_same_every_time_and_differ_in_what_fills_them() -> None:
    assert load("weight", 30, 1) == load("weight", 30, 1)
    weights = {by: sum(thing.weight_g or 0 for thing in load(by, 60, 1).things) for by in BOUND_BY}
    assert weights["weight"] > 2 * weights["volume"]
    assert sum(thing.on_top for thing in load("fragility", 60, 1).things) > 20
