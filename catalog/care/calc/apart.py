"""What keeps a piece where it is: pest work that is open, and quarantine. Pure; the sentences stand here once.

Work against pests (freezing, low oxygen, fumigation) only helps when it runs to its end, and a piece that leaves in the
middle of it carries what lives in it to others: common practice, no source.
"""

from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from catalog.care.calc.hazards import words_of
from catalog.core.days import Kind, ready_on

# Words that name work against pests or mould, whatever box was ticked. "Moth holes darned" is mending, so moth alone
# says nothing.
_PEST_WORDS = frozenset([
    "freeze", "freezing", "freezer", "anoxia", "anoxic", "nitrogen", "fumigate", "fumigated", "fumigation", "fumigant",
    "pest", "pests", "insecticide", "disinfest", "disinfestation", "disinfesting",
])  # fmt: skip
_PEST_PHRASES = (
    ("deep", "cold"), ("low", "oxygen"), ("carbon", "dioxide"), ("against", "moth"), ("against", "moths"),
    ("against", "woodworm"), ("against", "beetle"), ("against", "beetles"), ("against", "insects"),
    ("against", "mould"),
)  # fmt: skip


def names_pest_work(what: str) -> bool:
    """Whether the words for a piece of work say by themselves that it is against pests or mould."""
    words = words_of(what)
    pairs = set(pairwise(words))
    return bool(_PEST_WORDS.intersection(words)) or bool(pairs.intersection(_PEST_PHRASES))


@dataclass(frozen=True, slots=True)
class PestWork:
    """Work against pests that is ordered or under way, and not finished or called off."""

    what: str
    begun: date | None = None
    days: int | None = None
    day_kind: str = "calendar"
    closed: frozenset[date] = frozenset()

    @property
    def due(self) -> date | None:
        """The day on which it is ready; None while it has not begun, or when nobody said how long it takes."""
        if self.begun is None or self.days is None:
            return None
        return ready_on(self.begun, self.days, Kind(self.day_kind), self.closed)

    @property
    def words(self) -> str:
        """What is open and until when, without a full stop."""
        if self.begun is None:
            return f"the pest work “{self.what}” is ordered and has not begun"
        until = f"due {_day(self.due)}" if self.due else "and nobody has said until when"
        return f"the pest work “{self.what}” is under way, {until}"


@dataclass(frozen=True, slots=True)
class KeptApart:
    """What keeps one piece where it is; `until` is the day on which its quarantine is to be checked."""

    work: tuple[PestWork, ...] = ()
    until: date | None = None
    reason: str = ""

    @property
    def is_kept(self) -> bool:
        """Whether anything is open."""
        return bool(self.work) or self.until is not None

    def refusal(self, number: str, doing: str) -> str:
        """Why the piece may not be `doing` ("pulled", "sent out"), and what to do first; empty when it may."""
        return pest_refusal(number, self.work, doing) or self._quarantine_refusal(number, doing)

    def _quarantine_refusal(self, number: str, doing: str) -> str:
        if self.until is None:
            return ""
        why = f" ({self.reason})" if self.reason else ""
        return (
            f"{number} may not be {doing}: it is in quarantine until {_day(self.until)}{why}. "
            "Check it and release it first."
        )


def pest_refusal(number: str, work: tuple[PestWork, ...], doing: str) -> str:
    """Why open pest work stops what is being done to the piece; empty when none is open."""
    if not work:
        return ""
    told = " and ".join(one.words for one in work)
    it = "that work" if len(work) == 1 else "each"
    return f"{number} may not be {doing}: {told}. Finish {it} or call it off first."


def _day(day: date | None) -> str:
    return f"{day:%-d %b %Y}" if day else ""
