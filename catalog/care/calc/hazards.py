"""Which hazards a piece may carry, judged by what it is made of and by what somebody found.

A material only warns; a test confirms or clears. The words below are general names of materials. Where no source is
named the entry is common practice of the trade.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

CLEARED, UNTESTED, SUSPECTED, CONFIRMED = "cleared", "untested", "suspected", "confirmed"
STATES = (CLEARED, UNTESTED, SUSPECTED, CONFIRMED)  # from harmless to certain; the later one stands when two disagree

# Old dressings of fur, feather and skin (arsenic, mercury, later pesticides) were in use into the 1980s.
# Source: postings of conservators on the CoOL and NHCOLL lists, 1997 and 2013, seen as excerpts. From 1990 on nothing
# is presumed; that year is the house's own margin.
# A material called old may be older than the piece it was sewn to, so there the year of the piece says nothing.
POISON_UNTIL_YEAR = 1990
_OLDER_THAN_THE_PIECE = frozenset({"old", "vintage", "antique", "period", "reused"})


@dataclass(frozen=True, slots=True)
class Implied:
    """A hazard that a material or a kind of piece brings with it, before anybody has looked."""

    code: str
    state: str
    because: str


@dataclass(frozen=True, slots=True)
class Implication:
    """`phrase` among the materials brings `hazards`; a poison hazard only up to `until_year`, where one is given."""

    phrase: str
    hazards: tuple[tuple[str, str], ...] = ()
    until_year: int | None = None


_POISON = (("old_poison", UNTESTED),)
_SPECIES = (("protected_species", UNTESTED),)

# The longest phrase wins, so "glass fibre" is no glass and "rabbit fur" has its species named.
BY_MATERIAL: tuple[Implication, ...] = (
    Implication("lithium", (("battery", CONFIRMED),)),
    Implication("battery", (("battery", CONFIRMED),)),
    Implication("batteries", (("battery", CONFIRMED),)),
    Implication("power pack", (("battery", CONFIRMED),)),
    Implication("electrics", (("battery", UNTESTED),)),
    Implication("electronics", (("battery", UNTESTED),)),
    Implication("servo", (("battery", UNTESTED),)),
    Implication("led", (("battery", UNTESTED),)),
    Implication("lead", (("lead", SUSPECTED),)),
    Implication("lead free"),
    Implication("radium", (("radium", SUSPECTED),)),
    Implication("luminous paint", (("radium", UNTESTED),)),
    Implication("luminous dial", (("radium", UNTESTED),)),
    Implication("fur", _SPECIES + _POISON, POISON_UNTIL_YEAR),
    Implication("rabbit fur", _POISON, POISON_UNTIL_YEAR),
    Implication("sheepskin", _POISON, POISON_UNTIL_YEAR),
    Implication("faux fur"),
    Implication("fake fur"),
    Implication("imitation fur"),
    # Mercury went into hatters' felt until about 1950, and old hat bodies are blocked again, so the year of the piece
    # does not clear it. Sources: ICOM Costume, "Dangerous costume"; UK Parliamentary Archives, 27 Nov 2023.
    Implication("fur felt", (("mercury", UNTESTED),)),
    Implication("hatters felt", (("mercury", UNTESTED),)),
    Implication("beaver felt", (("mercury", UNTESTED),)),
    Implication("old felt", (("mercury", UNTESTED),)),
    Implication("mercury", (("mercury_article", SUSPECTED),)),
    Implication("feather", _SPECIES + _POISON, POISON_UNTIL_YEAR),
    Implication("feathers", _SPECIES + _POISON, POISON_UNTIL_YEAR),
    Implication("ostrich feather", _POISON, POISON_UNTIL_YEAR),
    Implication("ostrich feathers", _POISON, POISON_UNTIL_YEAR),
    Implication("goose feather", _POISON, POISON_UNTIL_YEAR),
    Implication("goose feathers", _POISON, POISON_UNTIL_YEAR),
    Implication("taxidermy", _SPECIES + _POISON, POISON_UNTIL_YEAR),
    Implication("ivory", _SPECIES),
    Implication("tortoiseshell", _SPECIES),
    Implication("baleen", _SPECIES),
    Implication("whalebone", _SPECIES),
    Implication("crocodile", _SPECIES),
    Implication("alligator", _SPECIES),
    Implication("snakeskin", _SPECIES),
    Implication("python", _SPECIES),
    Implication("sealskin", _SPECIES),
    Implication("coral", _SPECIES),
    Implication("rosewood", _SPECIES),
    Implication("foam latex", (("foam_latex", CONFIRMED),)),
    Implication("natural rubber", (("natural_rubber", CONFIRMED),)),
    Implication("rubber", (("natural_rubber", SUSPECTED),)),
    Implication("silicone rubber"),
    Implication("latex", (("natural_rubber", SUSPECTED),)),
    Implication("glass", (("glass", CONFIRMED),)),
    Implication("glass fibre"),
    Implication("fibre glass"),
    Implication("asbestos", (("asbestos", SUSPECTED),)),
    Implication("celluloid", (("celluloid", SUSPECTED),)),
    Implication("cellulose nitrate", (("celluloid", SUSPECTED),)),
    Implication("nitrate film", (("celluloid", SUSPECTED),)),
    Implication("magnet", (("magnet", CONFIRMED),)),
    Implication("magnets", (("magnet", CONFIRMED),)),
    Implication("loudspeaker", (("magnet", SUSPECTED),)),
    Implication("aerosol", (("aerosol", CONFIRMED),)),
    Implication("gas cartridge", (("gas_cartridge", CONFIRMED),)),
    Implication("co2 cartridge", (("gas_cartridge", CONFIRMED),)),
    Implication("pyrotechnic", (("pyrotechnic", CONFIRMED),)),
    Implication("flash powder", (("pyrotechnic", CONFIRMED),)),
    Implication("blanks", (("blanks", CONFIRMED),)),
    Implication("blank cartridges", (("blanks", CONFIRMED),)),
)

BY_KIND: tuple[Implication, ...] = (
    Implication("bow tie"),
    *(
        Implication(word, (("prop_weapon", SUSPECTED),))
        for word in [
            "arrow",
            "axe",
            "bayonet",
            "blade",
            "bow",
            "club",
            "crossbow",
            "cutlass",
            "dagger",
            "glaive",
            "halberd",
            "harpoon",
            "knife",
            "lance",
            "mace",
            "pike",
            "rapier",
            "sabre",
            "scythe",
            "spear",
            "sword",
            "weapon",
            "whip",
        ]
    ),
    *(
        Implication(word, (("prop_weapon", SUSPECTED), ("replica_gun", SUSPECTED)))
        for word in ["carbine", "gun", "handgun", "musket", "pistol", "revolver", "rifle", "shotgun"]
    ),
)


def implied_hazards(materials: Iterable[str], *, kind: str = "", made_year: int | None = None) -> dict[str, Implied]:
    """What the materials and the kind of a piece bring with them, by hazard code; the graver state when two imply it.

    `made_year` is the year in which the piece itself was made; None is unknown and presumes nothing in its favour.
    """
    found: dict[str, Implied] = {}
    for material in sorted(materials):
        year = None if _OLDER_THAN_THE_PIECE.intersection(words_of(material)) else made_year
        for rule in _from_material(material):
            _keep(found, rule, year, f"'{material.strip()}' is named among the materials.")
    for rule in _from_kind(kind):
        _keep(found, rule, made_year, f"The piece is recorded as '{kind.strip()}'.")
    return found


def resolved_hazards(
    materials: Iterable[str], findings: Iterable[tuple[str, str]], *, kind: str = "", made_year: int | None = None
) -> dict[str, str]:
    """The state of every hazard that is implied or was found, by code. Cleared ones stay in, so a page can show them.

    A finding beats what a material implies, whichever way it went. Of two findings for one hazard the graver stands.
    Raises ValueError for a state that is none of STATES.
    """
    states = {
        code: implied.state for code, implied in implied_hazards(materials, kind=kind, made_year=made_year).items()
    }
    states.update(_gravest(findings))
    return states


def _gravest(findings: Iterable[tuple[str, str]]) -> Mapping[str, str]:
    gravest: dict[str, str] = {}
    for code, state in findings:
        if state not in STATES:
            raise ValueError(f"'{state}' is no state of a hazard; use one of {', '.join(STATES)}.")
        if code not in gravest or STATES.index(state) > STATES.index(gravest[code]):
            gravest[code] = state
    return gravest


@lru_cache(maxsize=4096)
def _from_material(material: str) -> tuple[Implication, ...]:
    return _matching(material, BY_MATERIAL)


@lru_cache(maxsize=4096)
def _from_kind(kind: str) -> tuple[Implication, ...]:
    return _matching(kind, BY_KIND)


def _keep(found: dict[str, Implied], rule: Implication, made_year: int | None, because: str) -> None:
    too_young = rule.until_year is not None and made_year is not None and made_year >= rule.until_year
    for code, state in rule.hazards:
        if too_young and code == "old_poison":
            continue
        if code not in found or STATES.index(state) > STATES.index(found[code].state):
            found[code] = Implied(code, state, because)


@lru_cache(maxsize=8192)
def words_of(text: str) -> tuple[str, ...]:
    """The words of a material, a kind or a phrase: lower case, hyphens and apostrophes taken as no part of a word."""
    return tuple(re.findall(r"[a-z0-9]+", text.lower().replace("'", "").replace("’", "")))


def _matching(text: str, table: tuple[Implication, ...]) -> tuple[Implication, ...]:
    """The rows whose phrase stands in the text as whole words; one inside a longer match is passed over."""
    words = words_of(text)
    spans: list[tuple[int, int, Implication]] = []
    for rule in table:
        phrase = words_of(rule.phrase)
        for start in range(len(words) - len(phrase) + 1):
            if words[start : start + len(phrase)] == phrase:
                spans.append((start, start + len(phrase), rule))
    return tuple(
        rule
        for start, end, rule in spans
        if not any(s <= start and end <= e and (e - s) > (end - start) for s, e, _ in spans)
    )
