"""Who comes first: pencils in the order in which they were made, on the same pieces and the same days. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from catalog.loans.calc.windows import overlap

ORDINALS = ("first", "second", "third", "fourth", "fifth")


@dataclass(frozen=True, slots=True)
class Waiting:
    """A pencil: its place in the order of making, its days with buffers, and its pieces."""

    key: int
    hold: str
    for_whom: str
    made: datetime
    first: date
    last: date
    pieces: frozenset[int]
    lapses_on: date | None = None
    call: int | None = None

    def meets(self, other: "Waiting") -> bool:
        """Whether both want a same piece on a same day. Two of one call never stand in each other's way."""
        if self.call is not None and self.call == other.call:
            return False
        days = overlap((self.first, self.last), (other.first, other.last))
        return days is not None and not self.pieces.isdisjoint(other.pieces)


def ahead_of(mine: Waiting, others: Iterable[Waiting]) -> list[Waiting]:
    """Those that were pencilled before and want some of the same, oldest first."""
    before = [one for one in others if (one.made, one.key) < (mine.made, mine.key) and one.meets(mine)]
    return sorted(before, key=lambda one: (one.made, one.key))


def behind(mine: Waiting, others: Iterable[Waiting]) -> list[Waiting]:
    """Those that were pencilled later and want some of the same, oldest first."""
    after = [one for one in others if (one.made, one.key) > (mine.made, mine.key) and one.meets(mine)]
    return sorted(after, key=lambda one: (one.made, one.key))


def rank(mine: Waiting, others: Iterable[Waiting]) -> int:
    """1 for the first pencil on its pieces and days, 2 for the second."""
    return 1 + len(ahead_of(mine, others))


def ordinal(number: int) -> str:
    """ "first" to "fifth", then a number with its dot: "6th" and so on."""
    if number <= len(ORDINALS):
        return ORDINALS[number - 1]
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"
