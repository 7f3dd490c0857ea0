"""Holds as bands over a calendar line: `{% load wrapkeep_days %}{% day_bars first last today rows %}`."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django import template

register = template.Library()

LEFT = 150  # room for the row's name, in the drawing's own pixels
WIDTH = 820
ROW = 34
HEAD = 40
KINDS = {"firm": "firm hold", "pencil": "pencil hold", "buffer": "kept free", "out": "out"}
SIGNS = {"firm": "Filled", "pencil": "Dashed", "buffer": "Hatched", "out": "Grey"}


@register.inclusion_tag("catalog/_parts/days.html")
def day_bars(
    first: dt.date, last: dt.date, today: dt.date | None, rows: Sequence[dict[str, Any]], title: str = "Held days"
) -> dict[str, Any]:
    """Draw `rows` ({name, url, bands}) from `first` to `last`; a band is {first, last, kind, word}, kind one of KINDS.

    Both ends of a band are days that it takes. A phone shows the same as a list; so does a screen reader.
    """
    days = (last - first).days + 1
    if days < 1:
        raise ValueError("The days end before they start.")
    step = (WIDTH - LEFT) / days
    drawn = [_row(row, index, first, last, step) for index, row in enumerate(rows)]
    marks = list(_ticks(first, days, step))
    return {
        "title": title,
        "rows": drawn,
        "ticks": marks,
        "today_x": LEFT + ((today - first).days + 0.5) * step if today and first <= today <= last else None,
        "width": WIDTH,
        "height": HEAD + ROW * len(drawn) + 4,
        "left": LEFT,
        "first": first,
        "last": last,
        "key": [
            {"sign": SIGNS[kind], "word": KINDS[kind]}
            for kind in KINDS
            if any(band["kind"] == kind for row in drawn for band in row["bands"])
        ],
    }


def _row(row: dict[str, Any], index: int, first: dt.date, last: dt.date, step: float) -> dict[str, Any]:
    top = HEAD + index * ROW
    bands = []
    for band in row["bands"]:
        start, end = max(band["first"], first), min(band["last"], last)
        if end < start:
            continue
        width = ((end - start).days + 1) * step
        bands.append(
            {
                **band,
                "kind_word": KINDS[band["kind"]],
                "x": LEFT + (start - first).days * step,
                "width": width,
                # A word is drawn only where it fits; the list says it anyway.
                "fits": len(band["word"]) * 7.5 + 8 < width,
            }
        )
    return {**row, "bands": bands, "top": top, "base": top + ROW - 4, "middle": top + ROW / 2 - 1}


def _ticks(first: dt.date, days: int, step: float) -> list[dict[str, Any]]:
    """A line each day, each Monday, or each first Monday of a month, as room allows; a month is named once."""
    ticks = []
    named: tuple[int, int] | None = None
    for offset in range(days):
        date = first + dt.timedelta(days=offset)
        monday = date.weekday() == 0 and (step >= 5 or date.day <= 7)
        if step >= 40 or monday:
            word = f"{date.day}" if named == (date.year, date.month) else f"{date.day} {date:%b}"
            named = (date.year, date.month)
            ticks.append({"x": LEFT + offset * step, "word": word})
    return ticks
