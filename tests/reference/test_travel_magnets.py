"""Magnets by air against worked decisions.

Sources: 49 CFR 173.21(d) and PHMSA interpretation 09-0084 (21 March 2011) for 5.25 milligauss at 4.6 m; for 2.1 m
secondary pages that disagree between 2 and 5.25 milligauss, so between the two the carrier is asked.
"""

import csv

import pytest

from catalog.shipping.calc.facts import Mode
from catalog.shipping.calc.verdicts import Verdict
from tests.shipping.calc.shipped import REFERENCE, check, piece

with (REFERENCE / "travel_magnets.csv").open(encoding="utf-8", newline="") as table:
    CASES = list(csv.DictReader(table))

EXPECTED = {
    "not_restricted": Verdict.MAY,
    "not_restricted_ICAO;needs_carrier_check_2mG": Verdict.CONDITIONS,
    "UN2807_PI953_dangerous_good": Verdict.SPECIALIST,
    "forbidden_by_air": Verdict.STAYS,
}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["mG_at_2_1m"])
@pytest.mark.parametrize("mode", [Mode.PASSENGER_AIR, Mode.CARGO_AIR, Mode.CREW_BAGGAGE])
def test_in_the_air(case: dict[str, str], mode: Mode) -> None:
    near, far = float(case["mG_at_2_1m"]), float(case["mG_at_4_6m"])
    magnet = piece("steel", "magnets", magnet_mg_at_2_1m=near, magnet_mg_at_4_6m=far)
    assert check(magnet, mode).verdict is EXPECTED[case["verdict"]]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["mG_at_2_1m"])
def test_on_the_ground_magnets_are_free(case: dict[str, str]) -> None:
    magnet = piece("steel", "magnets", magnet_mg_at_2_1m=float(case["mG_at_2_1m"]))
    assert check(magnet, Mode.ROAD).verdict is Verdict.MAY


def test_unmeasured_magnets_are_unknown_in_the_air() -> None:
    said = check(piece("magnets"), Mode.PASSENGER_AIR)
    assert said.verdict is Verdict.UNKNOWN
    assert {q.fact for q in said.questions} == {"magnet_mg_at_2_1m", "magnet_mg_at_4_6m"}


def test_every_verdict_of_the_table_occurs() -> None:
    assert {case["verdict"] for case in CASES} == set(EXPECTED)
