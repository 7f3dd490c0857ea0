"""A vehicle parked in the sun (47 °C after an hour) against what materials bear.

Sources: air temperature from a 2018 study in a hot dry city (read in the press); material limits derived from published
softening and shrinkage temperatures (CoOL, WA Museum, leather chapter of Conservation Science, property tables), less a
margin.
"""

import csv

import pytest

from catalog.shipping.calc.facts import Mode
from catalog.shipping.calc.verdicts import Verdict
from tests.shipping.calc.shipped import REFERENCE, check, piece

with (REFERENCE / "travel_object_vs_place.csv").open(encoding="utf-8", newline="") as table:
    PARKED = [row for row in csv.DictReader(table) if row["situation"].startswith("vehicle parked in sun")]

# The table's material, as an archive writes it.
WRITTEN = {
    "natural rubber / foam latex": "foam latex",
    "polyurethane foam (polyester type)": "polyurethane foam",
    "PVC rigid, vacuum-formed": "vacuum-formed PVC",
    "ABS": "ABS",
    "polystyrene / HIPS": "polystyrene",
    "PLA (printed)": "PLA",
    "photopolymer resin print": "photopolymer resin",
    "acrylic PMMA": "acrylic",
    "polycarbonate": "polycarbonate",
    "cellulose acetate": "cellulose acetate",
    "cellulose nitrate (celluloid)": "celluloid",
    "beeswax": "beeswax",
    "EVA hot-melt joints": "hot-melt glue",
    "vegetable-tanned leather (sound)": "leather",
    "degraded leather": "degraded leather",
    "parchment / alum-tawed / chamois": "chamois",
    "shattered (weighted) silk": "shattered silk",
}
# Its limit is from memory and concerns moth and light as much as heat; a wool coat may go in any van.
LEFT_OUT = {"fur, feather, wool, silk"}


@pytest.mark.parametrize("row", [r for r in PARKED if r["material"] in WRITTEN], ids=lambda row: row["material"])
def test_what_the_van_would_harm_is_warned_about_and_nothing_else(row: dict[str, str]) -> None:
    said = check(piece(WRITTEN[row["material"]]), Mode.ROAD)
    warned = any("vehicle" in condition for condition in said.conditions)
    assert warned is (row["allowed"] == "no")
    assert (said.verdict is Verdict.MAY) is (row["allowed"] == "ok")


def test_no_row_of_the_table_is_forgotten() -> None:
    assert {row["material"] for row in PARKED} == set(WRITTEN) | LEFT_OUT
    assert check(piece("wool", "silk"), Mode.ROAD).verdict is Verdict.MAY
