"""The rooms of the store as a drawing: `{% load wrapkeep_rooms %}{% rooms_map rooms %}`."""

from collections.abc import Sequence
from typing import Any

from django import template

from catalog.storage.calc.rooms_map import boxes

register = template.Library()

WIDTH, HEIGHT = 390, 300  # the drawing's own pixels; as wide as a phone, so that it is shown as it is
# So that its words can be read, a room is drawn at least this large a part of the whole.
LEAST = 1 / 40


@register.inclusion_tag("catalog/stocktake/_rooms_map.html")
def rooms_map(rooms: Sequence[Any]) -> dict[str, Any]:
    """Draw rooms (place, seen, shelf_mm, short_age): as large as their shelves, hatched by the age of sightings."""
    total = sum(room.shelf_mm for room in rooms) or 1
    sizes = [max(room.shelf_mm / total, LEAST) for room in rooms]
    drawn = [
        {
            "x": round(box.x + 1.5, 1),
            "y": round(box.y + 1.5, 1),
            "width": round(box.width - 3, 1),
            "height": round(box.height - 3, 1),
            "middle": round(box.x + box.width / 2, 1),
            "base": round(box.y + box.height / 2, 1),
            "band": room.seen.band,
            "room": room,
            "share": room.seen.shares[0],
        }
        for room, box in zip(rooms, boxes(sizes, WIDTH, HEIGHT), strict=True)
    ]
    enlarged = any(room.shelf_mm / total < LEAST for room in rooms)
    return {"rooms": drawn, "width": WIDTH, "height": HEIGHT, "enlarged": enlarged}
