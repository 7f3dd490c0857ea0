"""Where to measure a piece: a drawing with lettered points and the list that goes with it.

`{% load wrapkeep_measure %}{% measure_guide kind.drawing points %}`
"""

from collections.abc import Iterable
from string import ascii_uppercase
from typing import Any

from django import template
from django.template import Context
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()


@register.inclusion_tag("catalog/_parts/measure_guide.html")
def measure_guide(drawing: str, points: Iterable[Any], title: str = "Where to measure") -> dict[str, Any]:
    """The drawing `_parts/measure/<drawing>.svg.html` with a letter at each point; a point has key, word and how.

    Letters run in the order of `points`, so that the list, the drawing and the form count alike.
    """
    lettered = [{"letter": ascii_uppercase[n], "point": point} for n, point in enumerate(points)]
    return {
        "drawing": f"catalog/_parts/measure/{drawing}.svg.html",
        "title": title,
        "lettered": lettered,
        "letters": {item["point"].key: item["letter"] for item in lettered},
    }


@register.simple_tag(takes_context=True)
def tape(context: Context, key: str, path: str, x: float, y: float) -> SafeString | str:
    """Inside a drawing: the tape along `path` with its letter at (x, y), when this piece is measured there."""
    letter = context["letters"].get(key)
    if letter is None:
        return ""
    return format_html(
        '<g class="pt" data-key="{}"><path class="fig-tape" marker-start="url(#tape-end)" marker-end="url(#tape-end)" '
        'd="{}"/><circle cx="{}" cy="{}" r="10"/><text x="{}" y="{}">{}</text></g>',
        key,
        path,
        x,
        y,
        x,
        y,
        letter,
    )
