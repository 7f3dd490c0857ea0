"""The measurements that `bench` knows by name. Some need the loaded demo."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from catalog.desk.bench.fit_benches import FIT_BENCHES
from catalog.desk.bench.hold_benches import HOLD_BENCHES
from catalog.desk.bench.label_benches import LABEL_BENCHES
from catalog.desk.bench.measuring import BenchError, Measurement, interleaved, measured
from catalog.desk.bench.pack_benches import PACK_BENCHES
from catalog.desk.bench.plain_plan import Values, plain_plan
from catalog.desk.bench.plan_benches import PLAN_BENCHES, reached
from catalog.desk.bench.return_benches import RETURN_BENCHES
from catalog.desk.bench.scan_benches import SCAN_BENCHES
from catalog.desk.bench.search_benches import SEARCH_BENCHES
from catalog.desk.bench.travel_benches import TRAVEL_BENCHES
from catalog.exchange.demo_actions import mark
from catalog.fitting.calc.plan import plan
from catalog.fitting.calc.plan_types import Problem
from catalog.fitting.queries import dry_run
from catalog.fitting.scenario_queries import suppositions
from catalog.loans.queries import call_by_reference

ROUNDS = 5
# The order of aims holds by construction and must not cost time: not slower than one weighted program. Measured: 1.2 to
# 3.5 times as quick on two cores, depending on what else ran.
GOAL = 1.0


def plan_demo() -> Measurement:
    """The demo call planned in three states: as recorded, with all that may be supposed, and with making besides."""
    problems = _demo_problems()

    def ours() -> list[Values]:
        return [reached(plan(problem)) for problem in problems]

    def plain() -> list[Values]:
        return [plain_plan(problem) for problem in problems]

    timed = interleaved(ours, plain, rounds=ROUNDS)
    said = "plain full model: one MILP with combined weights, no decomposition (scipy milp)"
    return measured("plan_demo", timed, baseline=said, goal=GOAL)


def _demo_problems() -> list[Problem]:
    loaded = mark()
    call = call_by_reference(loaded.value["call"]) if loaded is not None else None
    if call is None:
        raise BenchError("This database holds no demo.")
    recorded = dry_run(call)
    supposed = suppositions(recorded)
    found = [one.value for one in supposed if one.name == "found"]
    released = [one.value for one in supposed if one.name == "released"]
    granted = dry_run(call, found=found, released=released).problem
    return [recorded.problem, granted, replace(granted, with_making=True)]


BENCHES: Mapping[str, Callable[[], Measurement]] = {
    "plan_demo": plan_demo,
    **PLAN_BENCHES,
    **FIT_BENCHES,
    **SEARCH_BENCHES,
    **LABEL_BENCHES,
    **SCAN_BENCHES,
    **RETURN_BENCHES,
    **TRAVEL_BENCHES,
    **PACK_BENCHES,
    **HOLD_BENCHES,
}
