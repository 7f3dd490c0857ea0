"""Parts of animals and plants against worked decisions.

Source of the cases: 50 CFR 14, 21, 22, 23; the appendices of the convention on trade in endangered species; the Ivory
Act 2018. Each case names its own and whether it was found or is from memory. A permit office decides a permit, so it is
"specialist" here. The farmed plume is from memory: it goes only where somebody has named the species.
"""

import csv

import pytest

from catalog.shipping.calc.facts import Mode, Trip, WildPart
from catalog.shipping.calc.routes import Route, trip_along
from catalog.shipping.calc.verdicts import Verdict
from tests.shipping.calc.shipped import REFERENCE, check, piece

with (REFERENCE / "travel_wildlife.csv").open(encoding="utf-8", newline="") as table:
    DECISION = {row["case"]: row["decision"] for row in csv.DictReader(table)}


def along(*countries: str, comes_back: bool = True) -> Trip:
    start, *through, goal = countries
    return trip_along(Route(start, goal, tuple(through), comes_back, "none"), to_be_worn=False, year=2026)


DOMESTIC_US, TO_US, TO_EU = along("US", "US"), along("GB", "US"), along("GB", "FR")
CASES = [
    (
        "MBTA-listed feather, domestic US truck, pre-Act proof on file",
        WildPart("bird feather", farmed=False),
        DOMESTIC_US,
    ),
    ("eagle feather, any border", WildPart("eagle", "II"), along("CA", "US")),
    ("ostrich / dyed turkey / goose plume, farmed", WildPart("bird feather", "none", farmed=True), TO_EU),
    (
        "Appendix II skin bag (crocodile), no proof of date",
        WildPart("crocodilian", "II"),
        along("GB", "FR", comes_back=False),
    ),
    (
        "same piece visits 4 countries in 30 months and returns",
        WildPart("crocodilian", "II"),
        along("GB", "FR", "CH", "IT", "AT"),
    ),
    ("Dalbergia (not D. nigra) inlay 0.8 kg in a prop cane", WildPart("rosewood", "II", wood_g=800), TO_EU),
    ("Dalbergia nigra handle", WildPart("rosewood", "I"), TO_EU),
    ("ivory prop 40% by volume, 1930, hired", WildPart("elephant ivory", "I", 1930, 40.0), along("GB", "GB")),
    ("baleen (whalebone) corset, 1890, to US", WildPart("great whale", "I", 1890), TO_US),
]
MEANS = {
    "allow_with_marking": Verdict.CONDITIONS,
    "block_until_permit": Verdict.STAYS,
    "allow": Verdict.CONDITIONS,
    "export_permit": Verdict.SPECIALIST,
    "travelling_exhibition_certificate": Verdict.SPECIALIST,
    "exempt": Verdict.CONDITIONS,
    "permit": Verdict.SPECIALIST,
    "block": Verdict.STAYS,
}


@pytest.mark.parametrize(("case", "part", "trip"), CASES)
def test_the_worked_decision(case: str, part: WildPart, trip: Trip) -> None:
    assert check(piece(wild=(part,)), Mode.ROAD, trip).verdict is MEANS[DECISION[case]]


def test_the_papers_are_named() -> None:
    tour = check(piece(wild=(WildPart("crocodilian", "II"),)), Mode.ROAD, along("GB", "FR"))
    assert {"travelling exhibition certificate", "export or re-export document"} <= set(tour.papers)
    feather = check(piece(wild=(WildPart("bird feather", farmed=False),)), Mode.ROAD, DOMESTIC_US)
    assert "mark the package as wildlife" in " ".join(feather.conditions)


def test_no_case_is_left_out() -> None:
    assert {case for case, _, _ in CASES} == set(DECISION)


def test_an_unknown_group_or_list_is_never_a_yes() -> None:
    for part in (WildPart(), WildPart("crocodilian"), WildPart(listing="none"), WildPart("rosewood", "II")):
        assert check(piece(wild=(part,)), Mode.ROAD, TO_EU).verdict is Verdict.UNKNOWN
