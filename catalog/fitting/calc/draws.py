"""Equally likely bodies as bits: which of them lie in a range is two look-ups and one exclusive or.

Bit i stands for draw i in every point, so ranges of several points are judged on the same bodies by "and", and the
share that fits is a count of bits. Row k of `prefix` marks the k smallest draws.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

# Whole mm, or g. Four bytes each, for a crowd keeps fifteen thousand of them a body.
Millimetres = NDArray[np.int32]
Counts = NDArray[np.int64]
Bits = NDArray[np.uint64]
Mask = NDArray[np.bool_]

WORD = 64


@dataclass(frozen=True, slots=True, eq=False)
class Ordered:
    """The draws of one body point in rising order (one at least), the bits of the smallest, their median."""

    values: Millimetres
    prefix: Bits
    median: float
    table: Counts

    def inside(self, low: int | None, high: int | None) -> tuple[Bits, int]:
        """The draws from low to high, both included, and how many they are; an open end is None."""
        start = 0 if low is None else int(self.values.searchsorted(low, "left"))
        stop = len(self.values) if high is None else int(self.values.searchsorted(high, "right"))
        stop = max(start, stop)
        return self.prefix[stop] ^ self.prefix[start], stop - start

    def below(self, limits: Counts) -> Counts:
        """For each limit how many draws lie below it: looked up, for `table` counts them for every whole value."""
        first, last = self.values[0], self.values[-1]
        found: Counts = self.table[np.minimum(np.maximum(limits, first), last + 1) - first]
        return found


def ordered(draws: Millimetres) -> Ordered:
    """Sort the draws of a point and mark them."""
    order = np.argsort(draws, kind="stable")
    values = draws[order]
    marks = np.zeros((len(draws) + 1, -(-len(draws) // WORD)), dtype=np.uint64)
    marks[np.arange(1, len(draws) + 1), order // WORD] = np.uint64(1) << (order % WORD).astype(np.uint64)
    middle = len(draws) // 2
    median = float(values[middle]) if len(draws) % 2 else float(values[middle - 1] + values[middle]) / 2
    table = values.searchsorted(np.arange(values[0], values[-1] + 2))
    return Ordered(values, np.bitwise_or.accumulate(marks, axis=0), median, table)


@lru_cache(maxsize=8)
def everybody(count: int) -> Bits:
    """All of so many draws."""
    bits = np.zeros(-(-count // WORD), dtype=np.uint64)
    for place in range(count // WORD):
        bits[place] = ~np.uint64(0)
    if count % WORD:
        bits[-1] = (np.uint64(1) << np.uint64(count % WORD)) - np.uint64(1)
    bits.setflags(write=False)
    return bits


@lru_cache(maxsize=8)
def nobody(count: int) -> Bits:
    """None of so many draws."""
    bits = np.zeros(-(-count // WORD), dtype=np.uint64)
    bits.setflags(write=False)
    return bits


def marked(bits: Bits, count: int) -> Mask:
    """The bits spread out, one truth a draw."""
    return np.unpackbits(bits.view(np.uint8), bitorder="little", count=count).astype(np.bool_)


def share(bits: Bits, count: int) -> float:
    """The share of `count` draws that are marked."""
    return int(np.bitwise_count(bits).sum()) / count
