"""Drawings of fit: `{% load wrapkeep_fit %}`, `{% body_against rows %}` and `{% plan_grid grid %}`."""

from collections.abc import Sequence
from typing import Any

from django import template

from catalog.core.units import LengthUnit, WeightUnit, show_length, show_weight
from catalog.fitting.calc.against import PointRow
from catalog.fitting.calc.body import POINT_WORDS
from catalog.fitting.picture_queries import GridCell, PlanGrid
from catalog.templatetags.wrapkeep import reader_units

register = template.Library()

WIDTH = 358  # what a phone shows without shrinking
ROW = 66
BAR_TOP = 26
BAR = 16
EDGE = 12  # room at both sides of a bar
WORDS = {"inside": "inside", "outside": "outside", "open": "not taped", "unknown": "not known"}


@register.inclusion_tag("catalog/fitting/_body_against.html", takes_context=True)
def body_against(context: template.Context, rows: Sequence[PointRow], title: str = "Body and piece") -> dict[str, Any]:
    """Per point a bar for what the piece takes, a mark and a whisker for the body; what lies outside is hatched."""
    unit: LengthUnit = "in" if reader_units(context) == "in" else "cm"
    drawn = [_row(row, number, unit) for number, row in enumerate(rows)]
    return {"title": title, "rows": drawn, "width": WIDTH, "height": ROW * len(drawn) + 4, "bar": BAR}


def _row(row: PointRow, number: int, unit: LengthUnit) -> dict[str, Any]:
    ends = [value for value in (row.takes_low, row.takes_high, row.low, row.high) if value is not None]
    ends += row.good or ()
    least, most = min(ends, default=0), max(ends, default=1)
    pad = max((most - least) * 0.15, 10.0)
    step = (WIDTH - 2 * EDGE) / (most - least + 2 * pad)

    def x(value: float) -> float:
        return EDGE + (value - least + pad) * step

    left = EDGE if row.takes_low is None else x(row.takes_low)
    right = WIDTH - EDGE if row.takes_high is None else x(row.takes_high)
    top = ROW * number
    return {
        "word": POINT_WORDS.get(row.point, row.point.replace("_", " ")).capitalize(),
        "stand": row.stand.value,
        "stand_word": f"sits {row.sits}" if row.sits else WORDS[row.stand.value],
        "good": None if row.good is None else {"x": x(row.good[0]), "width": x(row.good[1]) - x(row.good[0])},
        "takes": takes_words(row, unit),
        "body": body_words(row, unit),
        "top": top,
        "bar_top": top + BAR_TOP,
        "axis": top + BAR_TOP + BAR / 2,
        "left": left,
        "bar_width": max(right - left, 0.0),
        "open_left": row.takes_low is None,
        "open_right": row.takes_high is None,
        "mark": None if row.middle is None else x(row.middle),
        "whisker": None if row.low is None or row.high is None or row.taped else (x(row.low), x(row.high)),
        "outside": _outside(row, x),
        "foot": top + BAR_TOP + BAR + 16,
    }


def _outside(row: PointRow, x: Any) -> list[dict[str, float]]:
    """The stretches of the body's range that the piece does not take."""
    if row.low is None or row.high is None or row.taped:
        return []
    found = []
    if row.takes_low is not None and row.low < row.takes_low:
        end = min(row.high, row.takes_low)
        found.append({"x": x(row.low), "width": x(end) - x(row.low)})
    if row.takes_high is not None and row.high > row.takes_high:
        start = max(row.low, row.takes_high)
        found.append({"x": x(start), "width": x(row.high) - x(start)})
    return found


def _show(point: str, value: int, unit: LengthUnit) -> str:
    mass: WeightUnit = "lb" if unit == "in" else "kg"
    return show_weight(value, mass) if point == "weight" else show_length(value, unit)


def takes_words(row: PointRow, unit: LengthUnit) -> str:
    """What the piece takes, in words."""
    low, high = row.takes_low, row.takes_high
    if low is not None and high is not None:
        return "nobody" if low > high else f"{_show(row.point, low, unit)} to {_show(row.point, high, unit)}"
    if low is not None:
        return f"{_show(row.point, low, unit)} or more"
    return "any" if high is None else f"up to {_show(row.point, high, unit)}"


def body_words(row: PointRow, unit: LengthUnit) -> str:
    """The body, in words."""
    if row.middle is None or row.low is None or row.high is None:
        return "not known"
    if row.taped:
        return f"{_show(row.point, row.middle, unit)}, taped"
    middle, low, high = (_show(row.point, value, unit) for value in (row.middle, row.low, row.high))
    return f"about {middle}, for four in five {low} to {high}"


HEAD = 84  # room for the slots' names, which stand upright
LEFT = 44
SLANT = 34  # room for the last slot's name, which leans out
CELL = 40
LINE = 26


@register.inclusion_tag("catalog/fitting/_plan_grid.html")
def plan_grid(grid: PlanGrid) -> dict[str, Any]:
    """A role's plan as people against slots.

    The short mark of its set stands in a cell, "new" where a piece is made, a dot for a piece of no set. A frame around
    a row says that all of it is one whole set; a bar under a mark says that the piece is mended first.
    """
    rows = []
    for number, row in enumerate(grid.rows):
        top = HEAD + number * LINE
        cells = [_cell(cell, column) for column, cell in enumerate(row.cells)]
        rows.append({"number": row.number, "top": top, "base": top + LINE / 2, "cells": cells, "whole": row.whole})
    heads = [{"word": slot, "x": LEFT + (n + 0.5) * CELL} for n, slot in enumerate(grid.slots)]
    width = LEFT + CELL * len(grid.slots) + SLANT
    return {
        "role": grid.role,
        "heads": heads,
        "rows": rows,
        "left": LEFT,
        "cell_width": CELL,
        "line": LINE,
        "width": width,
        "height": HEAD + LINE * len(rows) + 4,
        "row_width": CELL * len(grid.slots),
        "head": HEAD,
    }


def _cell(cell: GridCell | None, column: int) -> dict[str, Any]:
    found = {"x": LEFT + column * CELL, "middle": LEFT + (column + 0.5) * CELL}
    if cell is None:
        return {**found, "kind": "none", "mark": "", "mend": False}
    if cell.piece is None:
        return {**found, "kind": "made", "mark": "new", "mend": False}
    # The last part of a set's code is what tells it from the other sets of its role.
    return {**found, "kind": "worn", "mark": cell.set_code.rpartition("-")[2] or "·", "mend": cell.mend}
