"""What an alteration does to a size: original and present side by side, how much the seams still give. Pure.

Lenders of stage dress agree: nothing is cut, dyed, painted or glued, only hems and seams that go back (loan policies of
theatre stores, read in excerpts). That 1 cm of the cloth stays in the seam is common practice, no source, from memory.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from catalog.care.calc.hazards import words_of

_FOR_GOOD = frozenset([
    "cut", "cuts", "cutting", "trim", "trimmed", "trimming", "snip", "snipped", "dye", "dyed", "dyeing", "dip",
    "glue", "glued", "gluing", "glueing", "hemtape", "fusing", "fused", "bonded", "paint", "painted", "painting",
    "bleach", "bleached", "burn", "burnt", "drill", "drilled", "punch", "punched", "slash", "slashed", "overlock",
    "overlocked",
])  # fmt: skip


@dataclass(frozen=True, slots=True)
class Change:
    """A change of one point: by how much (+ larger), when, what was measured before it, and when it was undone."""

    change_mm: int
    done_on: date
    before_mm: int | None = None
    undone_on: date | None = None


@dataclass(frozen=True, slots=True)
class Sizes:
    """One point in mm: as it was made, as it is now, and the reserve of its seam; None is not known."""

    original: int | None
    present: int | None
    reserve: int | None = None
    used: int = 0

    @property
    def left(self) -> int | None:
        """How much it can still be let out; None when nobody has measured the reserve."""
        return None if self.reserve is None else max(0, self.reserve - self.used)

    @property
    def is_altered(self) -> bool:
        """Whether it is another size now than it was made."""
        return self.used != 0


def names_cutting(what: str) -> tuple[str, ...]:
    """The words that speak of something which never goes back."""
    return tuple(word for word in words_of(what) if word in _FOR_GOOD)


def sizes(value: int | None, taken_on: date | None, changes: Iterable[Change], reserve: int | None = None) -> Sizes:
    """Original and present size from the recorded measure and the changes at its point.

    A measure taken while an alteration was in is the altered size; one from before it, or of no known day, is not. On
    the very day it counts as taken after, when it differs from what stood there before.
    """
    rows = tuple(changes)
    used = sum(one.change_mm for one in rows if one.undone_on is None)
    if value is None:
        return Sizes(None, None, reserve, used)
    original = value - sum(one.change_mm for one in rows if _in_measure(one, value, taken_on))
    return Sizes(original, original + used, reserve, used)


def _in_measure(change: Change, value: int, taken_on: date | None) -> bool:
    if taken_on is None or (change.undone_on is not None and taken_on >= change.undone_on):
        return False
    return taken_on > change.done_on or (taken_on == change.done_on and change.before_mm not in {None, value})


def too_far(now: Sizes, change_mm: int) -> int | None:
    """How far the seam gives at most from the present size, when the change asks for more; else None.

    A reserve that nobody measured gives nothing; what was taken in may always be let out again.
    """
    after = now.used + change_mm
    if change_mm <= 0 or after <= 0:
        return None
    most = (now.reserve or 0) - now.used
    return max(0, most) if change_mm > most else None
