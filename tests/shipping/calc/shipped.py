"""The shipped rule rows, and short ways to make pieces, for the tests of the travel check."""

import json
from pathlib import Path
from typing import Any

from catalog.shipping.calc.facts import Mode, Pack, PieceFacts, Trip
from catalog.shipping.calc.rules import RuleBook, rule_book_from_json
from catalog.shipping.calc.travel import Assessment, judge

ROOT = Path(__file__).parents[3]
RAW: dict[str, Any] = json.loads((ROOT / "fixtures" / "house" / "travel_rules.json").read_text(encoding="utf-8"))
BOOK: RuleBook = rule_book_from_json(RAW)
REFERENCE = ROOT / "tests" / "reference" / "data"

RESHOOT = Trip(to_be_worn=True, crosses_border=True, year=2026)


def piece(*materials: str, **facts: Any) -> PieceFacts:
    """A light, decided coat of these materials, with whatever the test wants to be otherwise."""
    given: dict[str, Any] = {
        "number": "X-1",
        "kind": "coat",
        "materials": frozenset(materials or ("wool",)),
        "made_year": 2010,
        "wear_decision": "wear",
        "weight_g": 2000,
    }
    return PieceFacts(**(given | facts))


def with_hazard(code: str, state: str = "confirmed", **facts: Any) -> PieceFacts:
    """The same with one finding."""
    return piece(hazards=((code, state),), **facts)


def with_pack(**pack: Any) -> PieceFacts:
    """The same with one sound ion pack of 48 Wh fitted, or as the test wants it."""
    given: dict[str, Any] = {"chemistry": "lithium_ion", "energy_wh": 48, "state": "sound", "placed": "fitted"}
    return piece(packs=(Pack(**(given | pack)),))


def check(facts: PieceFacts, mode: str = "road", trip: Trip = RESHOOT, book: RuleBook = BOOK) -> Assessment:
    """The verdict by the shipped rows."""
    return judge(facts, Mode(mode), trip, book)
