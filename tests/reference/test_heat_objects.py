"""Materials against hot places, row by row.

travel_object_vs_place.csv crosses suggested limits with places; heat_places.csv has the places: a study in a hot dry
city of 2018 (press), Grundstein et al. 2009, Null 2003, Padfield. The limits are derived or from memory, as each says.
"""

import csv
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.shipping.calc.heat_objects import BARE, BOX, CABIN, LIMITS, SHADE, SUN, Bears, Group, bears, in_order
from tests.shipping.calc.shipped import REFERENCE


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


CROSSED = rows("travel_object_vs_place.csv")
PLACES = {row["situation"]: int(row["temp_C"]) for row in rows("heat_places.csv")}


@pytest.mark.parametrize("row", CROSSED, ids=lambda row: f"{row['material']}-{row['temp_C']}")
def test_each_material_in_each_place(row: dict[str, str]) -> None:
    found = bears([row["material"]])
    assert found.max_c == int(row["suggested_max_C"])
    assert found.answer(int(row["temp_C"])) == row["allowed"]
    if row["situation"] != "same, dashboard":
        assert PLACES[row["situation"]] == int(row["temp_C"])


def test_the_places_are_those_of_the_studies() -> None:
    assert {SHADE.temp_c, SUN.temp_c, CABIN.temp_c, BARE.temp_c} <= set(PLACES.values())
    assert BOX.temp_c == 60
    assert {row["material"] for row in CROSSED} == {limit.words for limit in LIMITS}


def test_no_name_stands_in_two_rows() -> None:
    names = [name.casefold() for limit in LIMITS for name in limit.names]
    assert len(names) == len(set(names))


def test_a_material_of_no_row_is_never_fine() -> None:
    assert bears(["brass"]).answer(20) == "unknown"
    assert bears([]).answer(20) == "unknown"
    assert bears(["ABS", "brass"]).answer(20) == "unknown"
    assert bears(["ABS", "brass"]).answer(66) == "no"
    assert bears(["Foam Latex"]).answer(41) == "no"
    assert bears(["cotton"], ["foam_latex"]).answer(41) == "no"


def thing(*materials: str) -> tuple[str, Bears]:
    return ("-".join(materials), bears(materials))


def test_which_to_open_first() -> None:
    groups = [
        Group("brass", (thing("brass"),)),
        Group("one latex", (thing("foam latex"), thing("polycarbonate"))),
        Group("two latex", (thing("foam latex"), thing("latex"))),
        Group("wax", (thing("wax"),)),
    ]
    assert [group.name for group in in_order(groups)] == ["wax", "two latex", "one latex", "brass"]
    assert groups[1].weakest == ["foam latex"]
    assert (groups[1].harmed(47), groups[2].harmed(47), groups[0].unknown) == (1, 2, 1)


RANK = {"ok": 0, "unknown": 1, "no": 2}
NAMES = st.sampled_from([limit.words for limit in LIMITS] + ["brass", "steel"])


@settings(max_examples=100, deadline=None)
@given(st.lists(NAMES, max_size=4), NAMES, st.integers(0, 90), st.integers(0, 40))
def test_hotter_or_one_more_material_is_never_better(names: list[str], more: str, temp: int, hotter: int) -> None:
    before: Any = RANK[bears(names).answer(temp)]
    assert RANK[bears(names).answer(temp + hotter)] >= before
    if names:
        assert RANK[bears([*names, more]).answer(temp)] >= before
