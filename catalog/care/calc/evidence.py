"""Dirt that was on screen is evidence: what counts as cleaning, when it needs a name, what care stays allowed. Pure.

That dirt may be important and is asked about before anything is cleaned: conservators' practice (Conserve O Gram 16/2,
"Dry cleaning museum textiles", read in excerpts). The words of cleaning and the care that takes nothing off are common
practice, no source.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from catalog.care.calc.hazards import words_of

_CLEANING = frozenset([
    "wash", "washing", "washed", "handwash", "launder", "laundering", "laundry", "laundered", "clean", "cleaning",
    "cleaned", "cleanse", "cleaner", "cleaners", "dryclean", "rinse", "rinsing", "rinsed", "soak", "soaking", "scrub",
    "scrubbing", "brush", "brushing", "brushed", "vacuum", "vacuuming", "hoover", "sponge", "sponging", "wipe",
    "wiping", "bleach", "bleaching", "degrease", "degreasing", "desalinate", "desalination", "polish", "polishing",
    "steam", "steaming", "shampoo", "soap", "detergent", "solvent", "destain",
])  # fmt: skip
_CLEANING_PHRASES = (
    ("stain", "removal"), ("remove", "stains"), ("remove", "stain"), ("remove", "salt"), ("remove", "mud"),
    ("spot", "treat"),
)  # fmt: skip


class Evidence(StrEnum):
    """Whether a piece carries breakdown that was on screen."""

    KEEP = "keep"
    NONE = "none"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Told:
    """What is known: what somebody said with its place and source, and the marks of the newest report that say keep."""

    said: str = ""
    where: str = ""
    source: str = ""
    marks: tuple[str, ...] = ()

    @property
    def evidence(self) -> Evidence:
        """A mark that is part of the look outweighs a "none"; what nobody said is unknown, which is no "none"."""
        if self.said == Evidence.KEEP or self.marks:
            return Evidence.KEEP
        return Evidence.NONE if self.said == Evidence.NONE else Evidence.UNKNOWN

    @property
    def what(self) -> str:
        """ "salt line to the hip, scene 12; salt at hem"; empty when nobody said where."""
        return "; ".join(part for part in (self.where, *self.marks) if part)

    @property
    def words(self) -> str:
        """The state in words, for a page."""
        if self.evidence is Evidence.KEEP:
            return f"on-screen breakdown: keep{f' ({self.what})' if self.what else ''}"
        if self.evidence is Evidence.NONE:
            return "no on-screen breakdown"
        return "nobody has said whether its dirt was on screen"


def names_cleaning(what: str) -> bool:
    """Whether the words for a piece of work say by themselves that something is taken off."""
    words = words_of(what)
    return bool(_CLEANING.intersection(words)) or bool(set(pairwise(words)).intersection(_CLEANING_PHRASES))


def needs_approval(told: Told, *, cleaning: bool) -> bool:
    """Whether somebody must approve the work by name; what nobody has said never counts as a yes."""
    return cleaning and told.evidence is not Evidence.NONE


def refusal(number: str, what: str, told: Told) -> str:
    """Why the cleaning may not begin, and what to do first."""
    if told.evidence is Evidence.KEEP:
        return (
            f"“{what}” may not begin on {number}: {told.words}. "
            "Have it approved by name, with what may go and what stays."
        )
    return (
        f"“{what}” may not begin on {number}: {told.words}. Say that there is none, or have the cleaning approved "
        "by name."
    )


# What takes nothing off, by the families of the materials (see pieces/calc/materials.py).
_ALWAYS = "air it, out of sun and draught"
_BY_FAMILY = (
    ({"cloth", "knit"}, "keep it from the skin: a washable layer underneath, pads in the armholes"),
    ({"leather"}, "blot damp from the inside, dry slowly away from heat; no saddle soap, no grease"),
    ({"fur"}, "shake nothing, beat nothing: lay it flat under tissue"),
    ({"metal"}, "lift grit with a bulb of air; no polish, it takes the tarnish that was seen"),
    ({"foam rubber", "soft pvc"}, "keep it cool and dark, interleaved with silicone paper; no water, no powder"),
    ({"hard plastic", "finish", "wood", "glass"}, "cover it against dust; paint that powders is not touched"),
    ({"electric"}, "take the pack out before it is put away"),
)


def allowed_instead(families: Iterable[str], *, cold: bool, airless: bool, poison: bool) -> tuple[str, ...]:
    """Care that leaves the breakdown where it is. `cold`, `airless`: whether the materials bear the freezer and low
    oxygen; `poison`: whether poison in it is open or confirmed.
    """
    present = set(families)
    if poison:
        return ("leave it bagged, gloves and mask: what is in it decides first",)
    found = [_ALWAYS, *(words for family, words in _BY_FAMILY if present & family)]
    if cold:
        return (*found, "against insects: the freezer, bagged")
    return (*found, "against insects: low oxygen, never the freezer" if airless else "against insects: apart, watched")
