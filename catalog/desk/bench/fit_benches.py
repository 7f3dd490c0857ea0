"""How fast likelihoods are counted: against scipy's own integral, against the bare arrays, and for one performer."""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray
from scipy.stats import multivariate_normal

from catalog.desk.bench.fit_crowd import PIECES, Crowd, crowd
from catalog.desk.bench.measuring import BenchError, Measurement, Timed, interleaved, measured
from catalog.fitting.calc.body import DRAWS, Body, Person, beliefs, body_of
from catalog.fitting.calc.draws import Counts, Millimetres
from catalog.fitting.calc.joint import Rack, shares, shares_of
from catalog.fitting.calc.survey import survey

ROUNDS = 3
SAMPLE = 240  # pairs that scipy answers; its time for all of them is that of the sample, scaled
TIMES_FASTER = 1000.0
# 512 draws against the integral: worst 0.040, mean 0.006 over 2 million pairs on the day that number was chosen.
WORST_ERROR, MEAN_ERROR = 0.045, 0.01
OVERHEAD_PEOPLE = 200
MOST_OVERHEAD = 2.0
ONE_PERFORMER_MS = 5.0


def fit_probability() -> Measurement:
    """Every performer against every piece, from the sizes on; scipy is handed each performer's mean and covariance."""
    asked = crowd()
    pairs = _pairs(len(asked.people), len(asked.rack.told))
    reference = shares(map(body_of, asked.people), asked.rack).share
    integrals = [_integral(asked, who, piece) for who, piece in pairs]

    def ours() -> bool:
        return bool((shares(map(body_of, asked.people), asked.rack).share == reference).all())

    def plain() -> bool:
        theirs = np.array([integral() for integral in integrals])
        _agree(np.array([reference[pair] for pair in pairs]), theirs)
        return True

    timed = interleaved(ours, plain, rounds=ROUNDS)
    number = reference.size
    scaled = Timed(timed.ours_s, timed.baseline_s / len(pairs) * number, timed.answer)
    said = f"scipy multivariate_normal.cdf pair by pair: {len(pairs)} pairs timed, extrapolated to {number:,}"
    return measured("fit_probability", scaled, baseline=said, goal=TIMES_FASTER)


def _pairs(people: int, pieces: int) -> list[tuple[int, int]]:
    """Pairs by lot, the same in every run."""
    rng = np.random.default_rng(7)
    return [(int(rng.integers(people)), int(rng.integers(pieces))) for _ in range(SAMPLE)]


def _integral(asked: Crowd, who: int, piece: int) -> Callable[[], float]:
    """What scipy is to work out for one pair. Draws are whole mm, so the box is half a millimetre wider each way."""
    ((_, belief),) = beliefs(asked.people[who])
    places = [belief.at(point) for point in asked.rack.points]
    mean, cov = belief.mean[places], belief.cov[np.ix_(places, places)] * survey().sd_inflation ** 2
    low = np.log((asked.rack.low[:, piece] - 0.5) / 10)
    high = np.log((asked.rack.high[:, piece] + 0.5) / 10)
    return lambda: float(multivariate_normal.cdf(high, mean, cov, lower_limit=low, rng=np.random.default_rng(1)))


def _agree(ours: NDArray[np.float64], theirs: NDArray[np.float64]) -> None:
    errors = np.abs(ours - theirs)
    if errors.max() > WORST_ERROR or errors.mean() > MEAN_ERROR:
        raise BenchError(f"The likelihoods are up to {errors.max():.3f} off scipy's, {errors.mean():.4f} on average.")


def fit_overhead() -> Measurement:
    """What names, missing measures and the limiting point cost, over the bare arrays."""
    asked = crowd(people=OVERHEAD_PEOPLE)
    bodies = [body_of(person) for person in asked.people]
    draws = [np.stack([body.draws[point] for point in asked.rack.points]) for body in bodies]

    def ours() -> bytes:
        # New bodies each time, so that sorting the draws counts on both sides.
        fresh = (Body(body.known, body.draws) for body in bodies)
        return np.rint(shares(fresh, asked.rack).share * DRAWS).astype(np.int64).tobytes()

    def bare() -> bytes:
        return np.stack([_kernel(drawn, asked.rack) for drawn in draws]).tobytes()

    timed = interleaved(ours, bare, rounds=2 * ROUNDS + 1)
    said = f"bare numpy kernel: sort, look up, and, popcount; {OVERHEAD_PEOPLE} performers, {PIECES:,} pieces"
    return measured("fit_overhead", timed, baseline=said, goal=MOST_OVERHEAD, sense="at most")


def _kernel(draws: Millimetres, rack: Rack) -> Counts:
    """The least that must be done for one body: how many of its draws lie in all ranges of each piece."""
    count = draws.shape[1]
    rows, words = np.arange(1, count + 1), count // 64
    bits = np.full((rack.low.shape[1], words), ~np.uint64(0))
    for row, drawn in enumerate(draws):
        order = drawn.argsort()
        values = drawn[order]
        prefix = np.zeros((count + 1, words), dtype=np.uint64)
        prefix[rows, order // 64] = np.uint64(1) << (order % 64).astype(np.uint64)
        np.bitwise_or.accumulate(prefix, axis=0, out=prefix)
        table = values.searchsorted(np.arange(values[0], values[-1] + 2))
        start = table[np.clip(rack.low[row], values[0], values[-1] + 1) - values[0]]
        stop = table[np.clip(rack.high[row] + 1, values[0], values[-1] + 1) - values[0]]
        bits &= prefix[stop] ^ prefix[start]
    found: Counts = np.bitwise_count(bits).sum(axis=1, dtype=np.int64)
    return found


def one_performer() -> Measurement:
    """One performer, from the sizes on, against every piece. The goal is the time itself."""
    asked = crowd(people=2)
    person = asked.people[-1]

    def ours() -> tuple[float, ...]:
        return tuple(shares_of(body_of(person), asked.rack).share.tolist())

    def plain() -> tuple[float, ...]:
        return _one_by_one(person, asked.rack)

    timed = interleaved(ours, plain, rounds=10 * ROUNDS + 1)
    value = 1000 * timed.ours_s
    return Measurement(
        name="one_performer",
        value=round(value, 2),
        unit="ms",
        baseline=f"a loop over {PIECES:,} pieces that counts the draws one piece at a time",
        baseline_value=round(1000 * timed.baseline_s, 2),
        ratio=round(timed.baseline_s / timed.ours_s, 2),
        goal=f"at most {ONE_PERFORMER_MS:g} ms",
        ok=value <= ONE_PERFORMER_MS,
    )


def _one_by_one(person: Person, rack: Rack) -> tuple[float, ...]:
    draws = body_of(person).draws
    found = []
    for piece in range(len(rack.told)):
        inside = np.ones(DRAWS, dtype=np.bool_)
        for row, point in enumerate(rack.points):
            inside &= (draws[point] >= rack.low[row, piece]) & (draws[point] <= rack.high[row, piece])
        found.append(float(inside.mean()))
    return tuple(found)


FIT_BENCHES: Mapping[str, Callable[[], Measurement]] = {
    "fit_probability": fit_probability,
    "fit_overhead": fit_overhead,
    "one_performer": one_performer,
}
