"""How much more a place takes, by its own measure: hanging length, shelf length, or a count. Unknown stays unknown."""

from collections.abc import Sequence
from dataclasses import dataclass

HANGING, SHELF, COUNT = "hanging length", "shelf length", "count"


@dataclass(frozen=True, slots=True)
class Room:
    """What a place has and what is used of it: millimetres, or things for a count.

    `unknown`: how many things in it have no width, so that what is free is at most what is said. `assumed_mm`: the
    room that one hanging garment was taken to need, a figure of the house.
    """

    measure: str
    capacity: int
    used: int
    unknown: int = 0
    assumed_mm: int | None = None

    @property
    def free(self) -> int:
        """What is left; below 0 when more is in it than it takes."""
        return self.capacity - self.used

    @property
    def is_over(self) -> bool:
        """Whether more is in it than it takes, as far as known."""
        return self.free < 0

    @property
    def is_sure(self) -> bool:
        """Whether everything in it was counted."""
        return self.unknown == 0


def by_count(capacity: int, things: int) -> Room:
    """So many things, whatever their size."""
    return Room(COUNT, capacity, things)


def by_shelf(capacity_mm: int, widths_mm: Sequence[int | None]) -> Room:
    """Side by side, each by its own width; what was not measured takes room that nobody knows."""
    known = [width for width in widths_mm if width is not None]
    return Room(SHELF, capacity_mm, sum(known), unknown=len(widths_mm) - len(known))


def by_hanging(capacity_mm: int, garments: int, each_mm: int) -> Room:
    """Garments on a rail, each taking the house's usual room."""
    return Room(HANGING, capacity_mm, garments * each_mm, assumed_mm=each_mm)
