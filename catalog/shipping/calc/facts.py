"""What is known about one piece and one trip when the travel check is asked. None always means: not known."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from typing import Any

from catalog.care.calc.hazards import CLEARED, CONFIRMED, SUSPECTED, resolved_hazards, words_of
from catalog.care.calc.wild import GROUPS, LISTINGS


class Mode(StrEnum):
    """The way a piece travels. Aircraft means air freight; crew baggage is what a passenger takes along."""

    ROAD = "road"
    SEA = "sea"
    PASSENGER_AIR = "passenger_air"
    CARGO_AIR = "cargo_air"
    CREW_BAGGAGE = "crew_baggage"

    @property
    def label(self) -> str:
        """The words for a page."""
        return _MODE_LABEL[self]


_MODE_LABEL = {
    Mode.ROAD: "by road",
    Mode.SEA: "by sea",
    Mode.PASSENGER_AIR: "as freight on a passenger aircraft",
    Mode.CARGO_AIR: "as freight on a cargo aircraft",
    Mode.CREW_BAGGAGE: "as crew baggage",
}

CHEMISTRIES = ("lithium_ion", "lithium_metal", "dry")
PACK_STATES = ("sound", "damaged", "unknown")
PLACEMENTS = ("fitted", "packed_with", "alone")
NO_DECISION = "no decision"


@dataclass(frozen=True, slots=True)
class Pack:
    """One battery: energy in watt-hours for an ion pack, lithium content in grams for a metal one, charge in per cent.

    `placed`: fitted in its equipment, packed with it in one box, or alone. Raises ValueError for any other word.
    """

    chemistry: str | None = None
    energy_wh: float | None = None
    state: str = "unknown"
    placed: str | None = None
    lithium_g: float | None = None
    charge_pct: float | None = None

    def __post_init__(self) -> None:
        _one_of("chemistry of a pack", self.chemistry, CHEMISTRIES)
        _one_of("state of a pack", self.state, PACK_STATES)
        _one_of("placing of a pack", self.placed, PLACEMENTS)
        for name in ("energy_wh", "lithium_g", "charge_pct"):
            value = getattr(self, name)
            if value is not None and not 0 <= value < float("inf"):
                raise ValueError(f"{name} of a pack is {value}; it cannot be below 0 or endless.")

    def fact(self, name: str) -> object:
        """The value of one field, with the word 'unknown' read as not known."""
        value = getattr(self, name)
        return None if value == "unknown" else value


@dataclass(frozen=True, slots=True)
class WildPart:
    """One part of an animal or plant that a law may protect.

    `listing` is its appendix of the convention on trade in endangered species, or none. `obtained_year`: the earliest
    year for which possession can be proven. `share_pct`: its share of the piece by volume. `wood_g`: listed wood in
    grams. `farmed`: bred, not taken from the wild. None is not known. Raises ValueError for any other word.
    """

    group: str | None = None
    listing: str | None = None
    obtained_year: int | None = None
    share_pct: float | None = None
    wood_g: int | None = None
    farmed: bool | None = None

    def __post_init__(self) -> None:
        _one_of("group of animals or plants", self.group, GROUPS)
        _one_of("listing", self.listing, LISTINGS)
        if self.share_pct is not None and not 0 <= self.share_pct <= 100:
            raise ValueError(f"share_pct of a part is {self.share_pct}; a share lies between 0 and 100.")

    def fact(self, name: str) -> object:
        """The value of one field."""
        return getattr(self, name)


@dataclass(frozen=True, slots=True)
class PieceFacts:
    """What is known about a piece, as far as a journey cares.

    `hazards` are present findings as (code, state), one a code; what the materials imply is added by `open_hazards`.
    `made_year` is the year of the piece itself. Without materials nothing can be implied, so the verdict is unknown.
    `values` are its present value as (currency, amount), for lines that a law draws by value.
    What keeps it where it is (pest work open, quarantine, not found, held for another job on these days) stands in our
    own books, so it is always known.
    """

    number: str
    kind: str = ""
    materials: frozenset[str] = frozenset()
    made_year: int | None = None
    hazards: tuple[tuple[str, str], ...] = ()
    packs: tuple[Pack, ...] = ()
    wild: tuple[WildPart, ...] = ()
    values: tuple[tuple[str, float], ...] = ()
    wear_decision: str | None = None
    longest_mm: int | None = None
    weight_g: int | None = None
    is_prop_weapon: bool | None = None
    magnet_mg_at_2_1m: float | None = None
    magnet_mg_at_4_6m: float | None = None
    pest_work_open: bool = False
    in_quarantine: bool = False
    not_found: bool = False
    held_elsewhere: bool = False

    def hazard_states(self) -> dict[str, str]:
        """Hazard code to state, from findings first and materials second; packs and the weapon mark are taken in."""
        findings = list(self.hazards)
        if self.is_prop_weapon is not None and not any(code == "prop_weapon" for code, _ in findings):
            findings.append(("prop_weapon", CONFIRMED if self.is_prop_weapon else CLEARED))
        states = resolved_hazards(self.materials, findings, kind=self.kind, made_year=self.made_year)
        if self.packs or states.get("battery") in {SUSPECTED, CONFIRMED}:
            states.pop("battery", None)  # the packs themselves are judged, recorded or presumed
        if self.wild and states.get("protected_species") != CONFIRMED:
            states.pop("protected_species", None)  # so are the parts of animals and plants, once they are named
        return states

    def known_packs(self) -> tuple[Pack, ...]:
        """The recorded packs; where a battery is known of but none was recorded, one of which little is known."""
        if self.packs:
            return self.packs
        states = resolved_hazards(self.materials, self.hazards, kind=self.kind, made_year=self.made_year)
        if states.get("battery") in {SUSPECTED, CONFIRMED}:
            return (Pack(chemistry=_chemistry_named(self.materials)),)
        return ()

    def as_json(self) -> dict[str, Any]:
        """Plain values to keep beside a verdict, so that it can be judged again later."""
        values = asdict(self)
        values["materials"] = sorted(self.materials)
        values["hazards"] = [list(pair) for pair in self.hazards]
        values["packs"] = [asdict(pack) for pack in self.packs]
        values["wild"] = [asdict(part) for part in self.wild]
        values["values"] = [list(pair) for pair in self.values]
        return values

    @classmethod
    def from_json(cls, values: Mapping[str, Any]) -> "PieceFacts":
        """The facts that `as_json` wrote. Raises ValueError for a field that is unknown here."""
        strange = sorted(set(values) - {field.name for field in fields(cls)})
        if strange:
            raise ValueError(f"Stored facts have a field that is not known: {', '.join(strange)}.")
        given = dict(values)
        given["materials"] = frozenset(values.get("materials", ()))
        given["hazards"] = tuple((code, state) for code, state in values.get("hazards", ()))
        given["packs"] = tuple(Pack(**pack) for pack in values.get("packs", ()))
        given["wild"] = tuple(WildPart(**part) for part in values.get("wild", ()))
        given["values"] = tuple((currency, amount) for currency, amount in values.get("values", ()))
        return cls(**given)


@dataclass(frozen=True, slots=True)
class Trip:
    """What is known about the journey; `routes.trip_along` works most of it out from the route.

    `to_be_worn`: worn or used before the camera at the other end. `leaves`, `enters`: countries left and entered across
    a border, and EU where its outer border is crossed; `passes`: every country touched. `customs_border`: goods leave a
    customs territory. `comes_back`: all of it returns. `wood`: solid wood in crates: none, marked, unmarked. `year`: of
    the loading day.
    """

    to_be_worn: bool | None = None
    crosses_border: bool | None = None
    customs_border: bool | None = None
    leaves: frozenset[str] | None = None
    enters: frozenset[str] | None = None
    passes: frozenset[str] | None = None
    comes_back: bool | None = None
    wood: str | None = None
    year: int | None = None

    def as_json(self) -> dict[str, Any]:
        """Plain values to keep beside a verdict."""
        values = asdict(self)
        for name in _SETS:
            values[name] = None if values[name] is None else sorted(values[name])
        return values

    @classmethod
    def from_json(cls, values: Mapping[str, Any]) -> "Trip":
        """The trip that `as_json` wrote; what it does not name is not known."""
        known = {field.name for field in fields(cls)}
        given = {name: value for name, value in values.items() if name in known}
        for name in _SETS & set(given):
            given[name] = None if given[name] is None else frozenset(given[name])
        return cls(**given)


_SETS = {"leaves", "enters", "passes"}


def _chemistry_named(materials: frozenset[str]) -> str | None:
    """The chemistry, where every battery named among the materials has the same one."""
    named: set[str | None] = set()
    for material in materials:
        words = set(words_of(material))
        if "lithium" in words:
            named.add("lithium_ion" if words & {"ion", "polymer"} else "lithium_metal" if "metal" in words else None)
        elif words & {"battery", "batteries"}:
            named.add("dry" if words & {"alkaline", "nimh", "nicd"} else None)
    return named.pop() if len(named) == 1 else None


def _one_of(what: str, value: str | None, words: tuple[str, ...]) -> None:
    if value is not None and value not in words:
        raise ValueError(f"'{value}' is no {what}; use one of {', '.join(words)}.")
