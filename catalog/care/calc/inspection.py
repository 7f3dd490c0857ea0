"""When a piece must be looked at again, by what it is made of, and which pieces die first. Pure.

How often: house judgement, as numbers that an archive changes; that fur and wool are looked through for pests, and
foam, rubber and soft PVC each year, follows the usual advice of conservators (museumpests.net; ICON and CCI notes on
plastics, read in excerpts).
"""

import re
from calendar import monthrange
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

# Keys of the intervals, and why a piece with such a material is looked at.
WHY = {
    "battery": "battery: swelling, leaking, warmth",
    "foam": "foam, rubber or soft PVC: crumbling, stiff, sticky",
    "pest": "fur, hair, wool or silk: moth, frass, grazing",
    "other": "the usual round",
}
_FOAM_FAMILIES = frozenset({"foam rubber", "soft pvc"})
_PEST_WORDS = frozenset(
    {"wool", "woollen", "felt", "serge", "flannel", "tweed", "mohair", "cashmere", "worsted", "silk"}
)
UNSAID = "nobody has said what it is made of"


@dataclass(frozen=True, slots=True)
class Seen:
    """A piece as it was last looked at: its materials (name, family), a battery in it, and the day."""

    materials: tuple[tuple[str, str], ...] = ()
    battery: bool = False
    on: date | None = None


@dataclass(frozen=True, slots=True)
class Due:
    """When it is due and why; `on` None: nobody has ever looked, so it is due now."""

    why: str
    months: int
    on: date | None

    def by(self, day: date) -> bool:
        """Whether it is to be looked at by that day."""
        return self.on is None or self.on <= day


def due_of(seen: Seen, months: Mapping[str, int]) -> Due:
    """The first of its reasons to come; the shortest interval where nobody has said what it is made of."""
    if not seen.materials:
        shortest = min(months.values())
        return Due(UNSAID, shortest, later(seen.on, shortest))
    key = min(_reasons(seen), key=lambda one: (months[one], list(WHY).index(one)))
    return Due(WHY[key], months[key], later(seen.on, months[key]))


def later(day: date | None, months: int) -> date | None:
    """The same day so many months later, or the last of its month; None stays None."""
    if day is None:
        return None
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def month_end(day: date) -> date:
    """The last day of the month."""
    return day.replace(day=monthrange(day.year, day.month)[1])


def _reasons(seen: Seen) -> Iterable[str]:
    families = {family for _, family in seen.materials}
    words = {word for name, _ in seen.materials for word in re.findall(r"[a-z]+", name.lower())}
    if seen.battery or "electric" in families:
        yield "battery"
    if families & _FOAM_FAMILIES:
        yield "foam"
    if "fur" in families or words & _PEST_WORDS:
        yield "pest"
    yield "other"


@dataclass(frozen=True, slots=True)
class Ageing:
    """A material that breaks down by itself: words in its name, what it does, what to do about it."""

    key: str
    word: str
    names: tuple[str, ...]
    does: str
    do: str


# What each does and what is done: conservators' common advice on unstable plastics and rubber, from memory (CCI Notes
# 15/1 and the Plastics Historical Society's guides treat the same groups); the order is house judgement.
AGEING = (
    Ageing(
        "celluloid", "celluloid", ("celluloid", "cellulose"), "yellows, smells sharp, burns fast",
        "away from all others, cool and aired, no flame; fire rules and trained people decide",
    ),
    Ageing(
        "foam_latex", "foam latex", ("foam latex", "latex foam"), "stiffens in the pose it lies in, then cracks",
        "never flex, never freeze; cool and dark on a form; photograph or scan its shape while it stands",
    ),
    Ageing(
        "polyurethane", "polyurethane foam or soles", ("polyurethane",), "crumbles to dust within some decades",
        "mask for the dust; cool and dark; liner or sole replaced before it is worn again",
    ),
    Ageing(
        "soft_pvc", "soft PVC", ("pvc", "vinyl"), "sweats, sticks, turns metal green",
        "apart from silk, metal and other plastics; silicone paper between; no folding",
    ),
)  # fmt: skip


def ageing_of(materials: Iterable[str]) -> Ageing | None:
    """The first of the short-lived materials among these names; None when there is none."""
    names = [name.lower() for name in materials]
    for one in AGEING:
        if any(word in name for word in one.names for name in names):
            return one
    return None


def is_gone(grade: int | None) -> bool:
    """Whether the last finding says that it is beyond use."""
    return grade is not None and grade >= 5


def what_to_do(ageing: Ageing, grade: int | None, stability: str) -> str:
    """The next step for a piece, by its last finding; what nobody looked at is looked at first."""
    if grade is None:
        return f"look at it first: nobody has reported on it. Then: {ageing.do}"
    if is_gone(grade):
        return "beyond use: keep it as a pattern, or have the part made new; ask before anything is thrown away"
    if stability == "active" or grade == 4:
        return f"to a conservator now; {ageing.do}"
    return ageing.do
