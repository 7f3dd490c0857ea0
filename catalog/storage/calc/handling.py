"""What the hand that reaches into a place should know first: hazards, packs, cold. It warns; it allows nothing.

Usual cautions of the trade; where care names no source for one it is common practice, no source.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from catalog.care.calc.cautions import DAMAGED_PACK, HAZARDS, LOCAL_RULES
from catalog.care.calc.hazards import CLEARED

# Of all hazards those that harm whoever only picks a thing up, the worst first.
TO_TOUCH = (
    "asbestos", "blanks", "pyrotechnic", "radium", "old_poison", "mercury", "mercury_article", "lead", "celluloid",
    "sharp", "glass",
)  # fmt: skip
# Below this a room counts as cold. House judgement, no source; the colder the sooner.
COLD_BELOW_C_TENTHS = 150
COLD = (
    "Cold room: nobody works in it alone. Say before you go in and when you are out; warm gloves that still hold. "
    f"{LOCAL_RULES}"
)


@dataclass(frozen=True, slots=True)
class Touched:
    """A piece as the hand meets it: its hazards and whether its power pack is swollen, leaking or damaged."""

    number: str
    hazards: Mapping[str, str]
    damaged_pack: bool = False


@dataclass(frozen=True, slots=True)
class Handling:
    """One caution and the pieces it is about. `grave` is told before anything else."""

    name: str
    caution: str
    numbers: tuple[str, ...]
    grave: bool = False


def handling(pieces: Sequence[Touched]) -> list[Handling]:
    """The cautions for these pieces, a damaged pack first, then by hazard; each names its pieces."""
    found = []
    packs = tuple(one.number for one in pieces if one.damaged_pack)
    if packs:
        found.append(Handling("damaged power pack", DAMAGED_PACK, packs, grave=True))
    for hazard in TO_TOUCH:
        numbers = tuple(one.number for one in pieces if one.hazards.get(hazard, CLEARED) != CLEARED)
        if numbers:
            found.append(Handling(HAZARDS[hazard].name, HAZARDS[hazard].caution, numbers))
    return found


def cold_words(target_c_tenths: int | None, kind: str = "") -> str:
    """The caution of a cold place, or nothing. A freezer is reached into, not worked in."""
    cold = target_c_tenths is not None and target_c_tenths < COLD_BELOW_C_TENTHS
    return COLD if cold and kind != "freezer" else ""
