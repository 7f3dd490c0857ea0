"""Freight and lifting against worked tables.

Sources: volume weight by 6000 and 5000 cm³/kg and 139 in³/lb as forwarders and carriers publish them; checked bags by
IATA's 23 kg and 158 cm; the HSE filter (INDG143 rev. 4, 25 and 16 kg at the waist found, the rest from memory); the
revised NIOSH equation (94-110, multipliers from memory). The values of the tables were worked out apart from this code.
"""

import csv
from pathlib import Path

import pytest

from catalog.shipping.calc.crate_lift import HSE_FILTER, Task, lifting_index, recommended_kg
from catalog.shipping.calc.freight import (
    DIVISORS,
    bag_class,
    chargeable_g,
    chargeable_lb,
    volume_weight_g,
    volume_weight_lb,
)

DATA = Path(__file__).parent / "data"
AIR, COURIER, ROAD = DIVISORS


def table(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as rows:
        return list(csv.DictReader(rows))


@pytest.mark.parametrize("row", table("freight_chargeable.csv"), ids=lambda row: f"{row['l_cm']}x{row['w_cm']}")
def test_chargeable_weight(row: dict[str, str]) -> None:
    sides = (10 * int(row["l_cm"]), 10 * int(row["w_cm"]), 10 * int(row["h_cm"]))
    gross = 1000 * int(row["actual_kg"])
    assert volume_weight_g(sides, AIR) / 1000 == pytest.approx(float(row["vol_kg_6000"]), abs=0.0006)
    assert chargeable_g(sides, gross, AIR) == 1000 * float(row["chargeable_kg_6000"])
    assert volume_weight_g(sides, COURIER) / 1000 == pytest.approx(float(row["vol_kg_5000"]), abs=0.0006)
    assert chargeable_g(sides, gross, COURIER) == 1000 * float(row["chargeable_kg_5000"])
    assert volume_weight_lb(sides) == pytest.approx(float(row["vol_lb_139"]), abs=0.006)
    assert chargeable_lb(sides, gross) == int(row["chargeable_lb_139"])
    assert sum(sides) == 10 * int(row["linear_cm"])
    assert bag_class(sides, gross).replace(" ", "_") == row["checked_bag_class"]


def test_worked_examples_of_forwarders() -> None:
    assert chargeable_g((300, 450, 650), 14_000, AIR) == 15_000
    assert chargeable_g((1_400, 1_000, 900), 150_000, AIR) == 210_000
    # 30.4 x 19.6 x 19.5 inches: 30 x 20 x 20 / 139 = 86.3, so 87 pounds.
    assert chargeable_lb((772, 498, 496), 1_000) == 87
    assert chargeable_g((1_000, 1_000, 1_000), 1_000, ROAD) == 334_000


@pytest.mark.parametrize("row", table("niosh_lifting.csv"), ids=lambda row: row["task"])
def test_the_lifting_equation(row: dict[str, str]) -> None:
    task = Task(
        load_kg=float(row["load_kg"]),
        reach_cm=float(row["H_cm"]),
        hands_cm=float(row["V_cm"]),
        way_cm=float(row["D_cm"]),
        twist_deg=float(row["A_deg"]),
        frequency=float(row["FM"]),
        grip=float(row["CM"]),
    )
    assert recommended_kg(task) == pytest.approx(float(row["RWL_kg"]), abs=0.01)
    assert lifting_index(task) == pytest.approx(float(row["LI"]), abs=0.006)


def test_beyond_the_range_of_the_equation_nothing_is_recommended() -> None:
    assert recommended_kg(Task(5, 64, 75, 25)) == 0
    assert lifting_index(Task(5, 40, 180, 25)) is None


def test_the_filter_by_height_and_reach() -> None:
    for row in table("hse_lifting_filter.csv"):
        zone = {"elbow/waist": "waist", "mid lower leg/floor": "floor"}.get(row["zone"], row["zone"])
        keys = ("men_armslength_kg", "men_close_kg", "women_armslength_kg", "women_close_kg")
        assert HSE_FILTER[zone] == tuple(int(row[key]) for key in keys)
