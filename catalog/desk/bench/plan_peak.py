"""`python -m catalog.desk.bench.plan_peak PEOPLE SETS SEED`: plan an invented crowd, print seconds and peak memory."""

import json
import sys
from time import perf_counter

from catalog.desk.bench.plan_crowds import crowd
from catalog.fitting.calc.plan import plan


def peak_mb() -> float:
    """The most memory this process has held so far. Linux counts kilobytes, macOS bytes."""
    import resource  # noqa: PLC0415 - not every system has it

    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return held / (1024 * 1024 if sys.platform == "darwin" else 1024)


if __name__ == "__main__":
    people, sets, seed = (int(word) for word in sys.argv[1:4])
    problem = crowd(people=people, sets=sets, seed=seed)
    begun = perf_counter()
    answer = plan(problem)
    took = perf_counter() - begun
    print(json.dumps({"peak_mb": round(peak_mb(), 1), "seconds": round(took, 2), "gap": answer.gap}))  # noqa: T201
