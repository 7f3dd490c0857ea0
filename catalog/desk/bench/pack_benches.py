"""500 pieces packed: our crates beside the lower bound, and beside first fit, largest first."""

from collections.abc import Callable, Mapping

from catalog.desk.bench.measuring import BenchError, Measurement
from catalog.desk.bench.pack_world import BOUND_BY, load
from catalog.shipping.calc.pack_bound import crates_needed
from catalog.shipping.calc.pack_check import faults
from catalog.shipping.calc.packing import first_fit, pack

PIECES, SEED = 500, 1
GOAL = 1.15


def pack_500() -> Measurement:
    """The crates of the worst of three loads against what is needed at least; every packing passes the checker.

    Raises BenchError when a packing has a fault, leaves something out, or needs more crates than first fit.
    """
    worst, most, least = 0.0, 0, 0
    for bound_by in BOUND_BY:
        problem = load(bound_by, PIECES, SEED)
        ours, plain, needed = pack(problem), first_fit(problem), crates_needed(problem).least
        if wrong := faults(problem, ours) or faults(problem, plain):
            raise BenchError(f"Packed by {bound_by}: {wrong[0]}")
        if ours.asked or ours.unfit or ours.no_room:
            raise BenchError(f"Packed by {bound_by}: something was left out.")
        if len(ours.crates) > len(plain.crates):
            raise BenchError(f"Packed by {bound_by}: first fit needs {len(plain.crates)}, ours {len(ours.crates)}.")
        if len(ours.crates) / needed > worst:
            worst, most, least = len(ours.crates) / needed, len(ours.crates), needed
    return Measurement(
        name="pack_500",
        value=float(most),
        unit="crates",
        baseline=f"least number needed, worst of {PIECES} pieces bound by {', '.join(BOUND_BY)}; none above first fit",
        baseline_value=float(least),
        ratio=round(worst, 3),
        goal=f"at most {GOAL:g}",
        ok=worst <= GOAL,
    )


PACK_BENCHES: Mapping[str, Callable[[], Measurement]] = {"pack_500": pack_500}
