"""Lithium packs by air against worked decisions.

Source of the cases: IATA lithium battery guidance 2026 (DGR 67th edition), PHMSA letter 14-0013 and a carrier's table,
read in secondary pages; the charge limits for packs in the box from a trainer's note on the 2026 edition.
A case that needs a signed declaration is "specialist" here, because only a trained shipper may sign one.
"""

import csv
from typing import Any

import pytest

from catalog.shipping.calc.facts import Mode, Pack
from catalog.shipping.calc.verdicts import Verdict
from tests.shipping.calc.shipped import REFERENCE, check, piece

with (REFERENCE / "travel_lithium_air.csv").open(encoding="utf-8", newline="") as table:
    CASES = list(csv.DictReader(table))

PLACED = {"in_equipment": "fitted", "packed_with": "packed_with", "alone": "alone"}


def facts_of(case: dict[str, str]) -> Any:
    size = float(case["wh_or_g_li_per_battery"])
    ion = case["chemistry"] == "ion"
    pack = Pack(
        chemistry=f"lithium_{case['chemistry']}",
        energy_wh=size if ion else None,
        lithium_g=None if ion else size,
        state="sound",
        placed=PLACED[case["config"]],
        charge_pct=float(case["soc_pct"]),
    )
    return piece(packs=(pack,) * int(case["batteries_in_pkg"]))


def ident(case: dict[str, str]) -> str:
    return f"{case['chemistry']}-{case['config']}-{case['wh_or_g_li_per_battery']}"


def expected_as_cargo(case: dict[str, str]) -> Verdict:
    if case["verdict"].startswith("blocked"):
        return Verdict.STAYS
    return Verdict.SPECIALIST if "DGD" in case["marking"] else Verdict.CONDITIONS


@pytest.mark.parametrize("case", CASES, ids=ident)
def test_cargo_aircraft(case: dict[str, str]) -> None:
    said = check(facts_of(case), Mode.CARGO_AIR)
    assert said.verdict is expected_as_cargo(case)
    spoken = " ".join(said.conditions)
    assert (
        f"{case['un'][:2]} {case['un'][2:]}, packing instruction {case['iata_pi']} section {case['section']}." in spoken
    )


@pytest.mark.parametrize("case", CASES, ids=ident)
def test_passenger_aircraft(case: dict[str, str]) -> None:
    flies = case["passenger_aircraft_cargo"] == "yes"
    said = check(facts_of(case), Mode.PASSENGER_AIR)
    assert said.verdict is (expected_as_cargo(case) if flies else Verdict.STAYS)


@pytest.mark.parametrize("case", CASES, ids=ident)
def test_marking(case: dict[str, str]) -> None:
    papers = " ".join(check(facts_of(case), Mode.CARGO_AIR).papers)
    if "DGD" in case["marking"]:
        assert "class 9" in papers
        assert "declaration" in papers
    else:
        assert "lithium battery mark" in papers


def test_the_table_was_read() -> None:
    assert len(CASES) == 8
    assert {case["iata_pi"] for case in CASES} == {"965", "966", "967", "968", "970"}
