"""Height against weight as a drawn map: `{% load wrapkeep_map %}{% dress_map points performers %}`."""

from collections.abc import Iterable, Sequence
from itertools import pairwise
from string import ascii_uppercase
from typing import Any

from django import template

from catalog.core.units import LengthUnit, WeightUnit, bare_length, show_weight
from catalog.templatetags.wrapkeep import reader_units

register = template.Library()

LEFT = 38  # room for the weights, in the drawing's own pixels; 390 wide, so that a phone shows it as it is
CELL_WIDTH = 32
CELL_HEIGHT = 24
TOP = 8
# The least count of each band of the map.
BANDS = (1, 3, 6, 10)
# The share of bodies from which a question mark is printed instead of nothing.
POSSIBLE = 0.2


@register.inclusion_tag("catalog/fitting/_dress_map.html", takes_context=True)
def dress_map(context: template.Context, points: Sequence[Any], performers: Iterable[Any] = ()) -> dict[str, Any]:
    """Draw points (height_mm, weight_g, outfits and chance, or None) and performers (height_mm, weight_g).

    Heights run to the right, weights upwards. Every count is printed, and bands of counts are parted by lines, so that
    nothing hangs on a shade. A performer is a dot with a letter; the table beside it names who.
    """
    heights = sorted({point.height_mm for point in points})
    weights = sorted({point.weight_g for point in points})
    band = {(point.height_mm, point.weight_g): _band(point) for point in points}
    cells = [_cell(point, heights, weights) for point in points]
    unit: LengthUnit = "in" if reader_units(context) == "in" else "cm"
    mass: WeightUnit = "lb" if unit == "in" else "kg"
    return {
        "width": LEFT + CELL_WIDTH * len(heights) + 2,
        "height": TOP + CELL_HEIGHT * len(weights) + 40,
        "cells": cells,
        "edges": _edges(band, heights, weights),
        "columns": [
            {"x": LEFT + (n + 0.5) * CELL_WIDTH, "word": _whole(bare_length(h, unit))}
            for n, h in enumerate(heights)
            if n % 2 == 0
        ],
        "rows": [
            {"y": TOP + (len(weights) - n - 0.5) * CELL_HEIGHT, "word": _whole(show_weight(w, mass).split()[0])}
            for n, w in enumerate(weights)
        ],
        "foot": TOP + CELL_HEIGHT * len(weights) + 16,
        "units": {"length": unit, "weight": mass},
        "dots": [_dot(letter_of(n), p, heights, weights) for n, p in enumerate(performers)],
    }


def letter_of(number: int) -> str:
    """A to Z, then A2 to Z2 and so on."""
    turn, place = divmod(number, len(ascii_uppercase))
    return ascii_uppercase[place] + (str(turn + 1) if turn else "")


@register.filter
def map_letter(number: int) -> str:
    """The letter of the performer counted from 0, for the table beside the map."""
    return letter_of(number)


def _band(point: Any) -> str:
    """Outside the survey, nobody, possible for some, or which band the count is in."""
    if point.outfits is None:
        return "unasked"
    if point.outfits == 0:
        return "some" if point.chance >= POSSIBLE else "none"
    return str(sum(point.outfits >= least for least in BANDS))


def _whole(words: str) -> str:
    return words.removesuffix(".0")


def _cell(point: Any, heights: Sequence[int], weights: Sequence[int]) -> dict[str, Any]:
    x = LEFT + heights.index(point.height_mm) * CELL_WIDTH
    y = TOP + (len(weights) - 1 - weights.index(point.weight_g)) * CELL_HEIGHT
    return {
        "x": x,
        "y": y,
        "middle": x + CELL_WIDTH / 2,
        "base": y + CELL_HEIGHT / 2,
        "band": _band(point),
        "word": point.outfits or "?",
        "width": CELL_WIDTH,
        "height": CELL_HEIGHT,
    }


def _edges(band: dict[tuple[int, int], str], heights: Sequence[int], weights: Sequence[int]) -> str:
    """Lines between neighbours of different bands, as one path."""
    lines = []
    for row, weight in enumerate(weights):
        y = TOP + (len(weights) - 1 - row) * CELL_HEIGHT
        for column, (left, right) in enumerate(pairwise(heights)):
            if band[left, weight] != band[right, weight]:
                lines.append(f"M{LEFT + (column + 1) * CELL_WIDTH} {y}v{CELL_HEIGHT}")
    for column, height in enumerate(heights):
        x = LEFT + column * CELL_WIDTH
        for row, (low, high) in enumerate(pairwise(weights)):
            if band[height, low] != band[height, high]:
                lines.append(f"M{x} {TOP + (len(weights) - 1 - row) * CELL_HEIGHT}h{CELL_WIDTH}")
    return "".join(lines)


def _dot(letter: str, performer: Any, heights: Sequence[int], weights: Sequence[int]) -> dict[str, Any]:
    """Where a performer lies; whoever is off the map lies on its edge."""
    across = _along(performer.height_mm, heights)
    up = _along(performer.weight_g, weights)
    return {
        "letter": letter,
        "x": LEFT + (across + 0.5) * CELL_WIDTH,
        "y": TOP + (len(weights) - 0.5 - up) * CELL_HEIGHT,
    }


def _along(value: int, ticks: Sequence[int]) -> float:
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1
    return min(max((value - ticks[0]) / step, -0.4), len(ticks) - 0.6)
