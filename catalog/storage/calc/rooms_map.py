"""Rooms as rectangles to scale, side by side in one frame: sizes in, rectangles out.

Rows are laid along the shorter side of what is left and kept as square as they come (Bruls, Huizing and van Wijk,
Squarified Treemaps, 2000).
"""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in the drawing's own units."""

    x: float
    y: float
    width: float
    height: float


def boxes(sizes: Sequence[float], width: float, height: float) -> list[Box]:
    """A rectangle for each size, in the same order; areas are to scale. Raises ValueError for a size that is none."""
    if any(size <= 0 for size in sizes):
        raise ValueError("Every room has a size.")
    order = sorted(range(len(sizes)), key=lambda one: -sizes[one])
    scale = width * height / sum(sizes) if sizes else 0
    found: dict[int, Box] = {}
    free = Box(0, 0, width, height)
    while order:
        side = min(free.width, free.height)
        row = _row([sizes[one] * scale for one in order], side)
        free = _lay(order[:row], [sizes[one] * scale for one in order[:row]], free, found)
        order = order[row:]
    return [found[one] for one in range(len(sizes))]


def _row(areas: Sequence[float], side: float) -> int:
    """How many fit best into one row along this side."""
    count = 1
    while count < len(areas) and _worst(areas[: count + 1], side) <= _worst(areas[:count], side):
        count += 1
    return count


def _worst(areas: Sequence[float], side: float) -> float:
    """The longest shape of a row: its longer side by its shorter."""
    total = sum(areas)
    return max(max(side**2 * area / total**2, total**2 / (side**2 * area)) for area in areas)


def _lay(names: Sequence[int], areas: Sequence[float], free: Box, found: dict[int, Box]) -> Box:
    """Lay a row along the shorter side; what is left is given back."""
    total = sum(areas)
    upright = free.width >= free.height
    depth = total / (free.height if upright else free.width)
    at = 0.0
    for name, area in zip(names, areas, strict=True):
        length = area / depth
        if upright:
            found[name] = Box(free.x, free.y + at, depth, length)
        else:
            found[name] = Box(free.x + at, free.y, length, depth)
        at += length
    if upright:
        return Box(free.x + depth, free.y, free.width - depth, free.height)
    return Box(free.x, free.y + depth, free.width, free.height - depth)
