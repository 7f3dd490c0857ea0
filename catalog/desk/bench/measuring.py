"""Measuring ourselves against the plainest correct program: interleaved in one run, equal results asserted, medians."""

from collections.abc import Callable
from dataclasses import asdict, dataclass
from statistics import median
from time import perf_counter
from typing import Any, Generic, Literal, TypeVar

Answer = TypeVar("Answer")


class BenchError(RuntimeError):
    """The measurement means nothing: the results differ, or there is nothing to measure. The message says which."""


@dataclass(frozen=True, slots=True)
class Timed(Generic[Answer]):
    """Median seconds of both programs over the same rounds, and the answer that both gave."""

    ours_s: float
    baseline_s: float
    answer: Answer


@dataclass(frozen=True, slots=True)
class Measurement:
    """One line of `bench --json`; ratio is baseline by ours for a goal "at least", ours by baseline for "at most".

    For a rate ("scans/s") it is the other way round, so that "at least" always says how many times better we are.
    A goal with a unit ("at most 5 ms") is one for the value itself; the ratio is then baseline by ours.
    """

    name: str
    value: float
    unit: str
    baseline: str
    baseline_value: float
    ratio: float
    goal: str
    ok: bool

    def as_json(self) -> dict[str, Any]:
        return asdict(self)


def interleaved(
    ours: Callable[[], Answer], baseline: Callable[[], Answer], *, rounds: int, warm_up: bool = True
) -> Timed[Answer]:
    """Run both in turn, `rounds` times, after one round to warm up. Raises BenchError when their answers differ.

    Where a round takes minutes there is nothing to warm: then only our own answer is worked out once beforehand.
    """
    wanted = ours()
    if warm_up:
        _same(wanted, baseline())
    mine: list[float] = []
    theirs: list[float] = []
    for number in range(rounds):
        # Who begins changes from round to round, so that neither always finds the warm machine.
        for is_ours in (True, False) if number % 2 == 0 else (False, True):
            start = perf_counter()
            answer = ours() if is_ours else baseline()
            (mine if is_ours else theirs).append(perf_counter() - start)
            _same(wanted, answer)
    return Timed(median(mine), median(theirs), wanted)


def measured(
    name: str, timed: Timed[Any], *, baseline: str, goal: float, sense: Literal["at least", "at most"] = "at least"
) -> Measurement:
    """A time against its baseline's, in milliseconds, with the goal for their ratio."""
    ratio = timed.baseline_s / timed.ours_s if sense == "at least" else timed.ours_s / timed.baseline_s
    ok = ratio >= goal if sense == "at least" else ratio <= goal
    return Measurement(
        name,
        round(1000 * timed.ours_s, 1),
        "ms",
        baseline,
        round(1000 * timed.baseline_s, 1),
        round(ratio, 2),
        f"{sense} {goal:g}",
        ok,
    )


def _same(wanted: object, answer: object) -> None:
    if answer != wanted:
        raise BenchError(f"The two programs do not agree: {wanted} and {answer}.")
