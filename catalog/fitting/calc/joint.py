"""How likely pieces fit bodies, many at once: the share of the possible bodies that lie in every range of a piece.

Never a product, neither over points nor over pieces: girths go together, and multiplying understates a whole outfit.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalog.fitting.calc.bands import Wearable
from catalog.fitting.calc.body import Body
from catalog.fitting.calc.draws import Bits
from catalog.fitting.calc.survey import Floats

LOWEST, HIGHEST = np.iinfo(np.int64).min, np.iinfo(np.int64).max


@dataclass(frozen=True, slots=True, eq=False)
class Rack:
    """Pieces as arrays, one row a body point and one column a piece: which body values each allows.

    `asks`: the piece has a range there. `told`: everything that the house asks of the piece was measured.
    """

    points: tuple[str, ...]
    low: NDArray[np.int64]
    high: NDArray[np.int64]
    asks: NDArray[np.bool_]
    told: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Shares:
    """Answers of bodies (rows, when there are several) and pieces (columns).

    share: the part of the possible bodies that fits; NaN where a measure is missing and nothing known forbids it.
    bound: the smallest share of a single point, which `share` never exceeds. limiting: place of that point in the
    rack's points, the first by name of equal ones; -1 where the piece asks nothing but what is taped and inside.
    """

    share: Floats
    bound: Floats
    limiting: NDArray[np.int64]


def rack_of(ranges: Sequence[Wearable | None]) -> Rack:
    """Arrays for these pieces; None stands for a piece of which the house does not know when it fits."""
    found = [{} if one is None else one.by_point() for one in ranges]
    points = tuple(sorted({point for spans in found for point in spans}))
    shape = len(points), len(found)
    low, high = np.full(shape, LOWEST), np.full(shape, HIGHEST)
    asks = np.zeros(shape, dtype=np.bool_)
    for column, spans in enumerate(found):
        for row, point in enumerate(points):
            if point in spans:
                least, most = spans[point]
                low[row, column] = LOWEST if least is None else least
                high[row, column] = HIGHEST if most is None else most
                asks[row, column] = True
    told = np.array([one is not None and not one.not_measured for one in ranges], dtype=np.bool_)
    return Rack(points, low, high, asks, told)


def shares(bodies: Iterable[Body], rack: Rack) -> Shares:
    """Every body against every piece."""
    rows = []
    for body in bodies:
        rows.append(shares_of(body, rack))
        body.forget_order()
    if not rows:
        nothing = np.empty((0, len(rack.told)))
        return Shares(nothing, nothing.copy(), nothing.astype(np.int64))
    return Shares(
        np.stack([row.share for row in rows]),
        np.stack([row.bound for row in rows]),
        np.stack([row.limiting for row in rows]),
    )


def shares_of(body: Body, rack: Rack) -> Shares:
    """One body against every piece."""
    bits, counts, refused, unclear = _judged(body, rack)
    together = np.bitwise_count(bits).sum(axis=1, dtype=np.int64)
    share = together / body.count
    share[unclear] = np.nan
    share[refused] = 0.0
    if not len(rack.points):
        return Shares(share, np.ones(len(share)), np.full(len(share), -1))
    limiting = counts.argmin(axis=0)
    least = counts[limiting, np.arange(len(share))]
    spoken = least <= body.count
    return Shares(share, np.where(spoken, least, body.count) / body.count, np.where(spoken, limiting, -1))


def set_shares(body: Body, rack: Rack, sets: Sequence[Sequence[int]]) -> Floats:
    """Whole outfits, each given by its pieces' columns: worn together, on the same bodies. NaN as for a piece."""
    bits, _, refused, unclear = _judged(body, rack)
    found = np.empty(len(sets))
    for number, columns in enumerate(sets):
        chosen = list(columns)
        if refused[chosen].any():
            found[number] = 0.0
        elif not chosen or unclear[chosen].any():
            found[number] = np.nan
        else:
            worn = np.bitwise_and.reduce(bits[chosen], axis=0)
            found[number] = int(np.bitwise_count(worn).sum()) / body.count
    return found


def _judged(body: Body, rack: Rack) -> tuple[Bits, NDArray[np.int64], NDArray[np.bool_], NDArray[np.bool_]]:
    """Bits of the bodies that fit, a row a piece; how many fit each point alone; who is refused; what is unclear.

    A point that a piece does not ask, that is taped and inside, or of which nothing is known counts one more than
    all: it never limits.
    """
    pieces, every = len(rack.told), body.count
    bits = np.repeat(body.everybody[None, :], pieces, axis=0)
    counts = np.full((len(rack.points), pieces), every + 1)
    refused, unclear = np.zeros(pieces, dtype=np.bool_), ~rack.told
    for row, point in enumerate(rack.points):
        low, high, asks = rack.low[row], rack.high[row], rack.asks[row]
        known = body.known.get(point)
        if known is not None:
            misses = (known < low) | (known > high)
            refused |= misses
            counts[row, misses] = 0
        elif point not in body.draws:
            unclear = unclear | asks
        else:
            drawn = body.ordered(point)
            start = drawn.below(low)
            # "Not above high" is "below high + 1": whole values, and the open end must not run over.
            stop = np.maximum(drawn.below(np.minimum(high, HIGHEST - 1) + 1), start)
            bits &= drawn.prefix[stop] ^ drawn.prefix[start]
            counts[row, asks] = (stop - start)[asks]
    bits[refused] = 0
    return bits, counts, refused, unclear
