"""The planner on invented crowds of 200 and 400, against the full program given to the solver as it stands.

Ample stock: half to a fifth of all pairs of a slot fit. The full program of 400 takes minutes an aim.
"""

import json
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from catalog.desk.bench.measuring import BenchError, Measurement, interleaved, measured
from catalog.desk.bench.plain_plan import Values, plain_aims
from catalog.desk.bench.plan_crowds import crowd
from catalog.fitting.calc.plan import DRESSED, FIT, MADE, WHOLE, plan
from catalog.fitting.calc.plan_model import build
from catalog.fitting.calc.plan_start import greedy
from catalog.fitting.calc.plan_types import Plan, Problem

BASELINE = "plain full model: one MILP an aim over every column, each aim kept as a row (scipy milp)"
SEED = 3
MOST_MB = 1000


def reached(answer: Plan) -> Values:
    """What two planners must agree on."""
    aims = {aim.name: aim.value for aim in answer.aims}
    return aims[DRESSED], aims[MADE], aims[WHOLE], aims[FIT]


def proven(problem: Problem) -> Values:
    """Our plan's values. Raises BenchError when something is not proven."""
    answer = plan(problem)
    if answer.gap:
        raise BenchError(f"The plan is not proven: a gap of {answer.gap:g} is left.")
    return reached(answer)


def plan_200() -> Measurement:
    """200 performers, 300 pieces in each of 8 slots."""
    return against_plain("plan_200", crowd(people=200, sets=300, seed=SEED), goal=10)


def plan_400() -> Measurement:
    """400 performers, 600 pieces in each of 8 slots: the baseline takes several minutes, so one round must do."""
    return against_plain("plan_400", crowd(people=400, sets=600, seed=SEED), goal=25)


def against_plain(name: str, problem: Problem, *, goal: float) -> Measurement:
    """One round each, as the plain program needs no warming; equal values of all four aims, each proven, and no
    fewer dressed than by taking performers one by one."""
    timed = interleaved(lambda: proven(problem), lambda: plain_aims(problem), rounds=1, warm_up=False)
    first = len({line.wearer for line in greedy(build(problem, {}), set())})
    if timed.answer[0] < first:
        raise BenchError(f"Taking performers one by one dresses {first}, the plan {timed.answer[0]}.")
    return measured(name, timed, baseline=BASELINE, goal=goal)


def plan_400_memory() -> Measurement:
    """The most memory that a process of its own takes to invent the crowd of 400 and plan it."""
    peak = peak_mb(people=400, sets=600)
    ratio = round(peak / MOST_MB, 2)
    return Measurement(
        "plan_400_memory", round(peak), "MB", "what it may take", MOST_MB, ratio, "at most 1", peak <= MOST_MB
    )


def peak_mb(*, people: int, sets: int) -> float:
    """Raises BenchError when the process fails, or where the system counts no memory for a process."""
    root = Path(__file__).resolve().parents[3]
    words = [sys.executable, "-m", "catalog.desk.bench.plan_peak", str(people), str(sets), str(SEED)]
    ran = subprocess.run(words, cwd=root, capture_output=True, text=True, check=False)  # noqa: S603 - our own words
    if ran.returncode:
        raise BenchError((ran.stderr.strip() or "It said nothing.").splitlines()[-1])
    return float(json.loads(ran.stdout)["peak_mb"])


PLAN_BENCHES: Mapping[str, Callable[[], Measurement]] = {
    "plan_200": plan_200,
    "plan_400": plan_400,
    "plan_400_memory": plan_400_memory,
}
