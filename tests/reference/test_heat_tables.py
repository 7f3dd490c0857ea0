"""The heat arithmetic against published tables and worked examples.

heat_index_nws_table.csv: the printed table of the US National Weather Service (Tulsa office's page, 135 cells), beside
it the whole algorithm worked out cell by cell. heat_index_edges.csv: worked examples of every branch with the three
sets of bands. heat_wbgt_*.csv: examples and limits of ISO 7243:2017 and NIOSH 2016-106, section 8; the estimate of the
Bureau of Meteorology. heat_clothing_adjustment.csv: ISO 7243:2017 annex F beside the list of ACGIH, NIOSH and OSHA.
heat_niosh_*.csv: NIOSH 2016-106, table 6-2 with its footnote.

No library checks this at test time: pythermalcomfort 4.8.1 needs numba and llvmlite (some 425 MB). Its heat index, the
regression without branch and adjustments (up to 2.75 °F off in dry air), stands as a column in the first table, and
the test compares with that.
"""

import csv
from typing import Any

import pytest

from catalog.shipping.calc.heat_dress import ACGIH, ISO, adds
from catalog.shipping.calc.heat_index import BAND_SETS, heat_index, regression
from catalog.shipping.calc.heat_limits import RATES, adjusted_temp_f, effort, limit, niosh_limit, work_rest
from catalog.shipping.calc.wbgt import (
    sun_screen,
    vapour_pressure_hpa,
    wbgt_in_sun,
    wbgt_without_sun,
    wet_bulb,
)
from tests.shipping.calc.shipped import REFERENCE


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / f"heat_{name}.csv").open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


def id_of(row: dict[str, str]) -> str:
    return "-".join(list(row.values())[:4])


@pytest.mark.parametrize("row", rows("index_nws_table"), ids=id_of)
def test_each_cell_of_the_printed_table(row: dict[str, str]) -> None:
    t, r = float(row["temp_f"]), float(row["rh_pct"])
    whole = heat_index(t, r)
    assert whole.value_f == pytest.approx(float(row["full_algorithm_hi_f"]), abs=0.001)
    assert whole.rounded_f == int(row["full_algorithm_rounded"])
    # The printed table leaves out the adjustment for damp air: there the whole algorithm lies up to 2 °F above it.
    assert abs(whole.rounded_f - int(row["nws_table_hi_f"])) <= (2 if r > 85 else 1)
    assert regression(t, r) == pytest.approx(float(row["pythermalcomfort_4_8_1_hi_f"]), abs=0.002)
    assert abs(regression(t, r) - int(row["nws_table_hi_f"])) < 1


@pytest.mark.parametrize("row", rows("index_edges"), ids=id_of)
def test_each_branch_and_band(row: dict[str, str]) -> None:
    found = heat_index(float(row["temp_f"]), float(row["rh_pct"]))
    assert found.branch == row["branch"]
    assert found.value_f == pytest.approx(float(row["hi_f"]), abs=0.006)
    assert (found.rounded_f, round(found.value_c, 2)) == (int(row["hi_f_rounded"]), float(row["hi_c"]))
    for key, column in (
        ("nws", "nws_band_80_90_103_125"),
        ("nws_old", "nws_band_80_90_105_130"),
        ("osha", "osha_band_91_103_115"),
    ):
        assert BAND_SETS[key].band(found) == row[column].replace("_", " ")


@pytest.mark.parametrize("row", rows("wbgt_vectors"), ids=id_of)
def test_each_worked_wbgt(row: dict[str, str]) -> None:
    wet, globe = float(row["t_nat_wet_C"]), float(row["t_globe_C"])
    sun = row["solar"] == "1"
    found = wbgt_in_sun(wet, globe, float(row["t_air_C"])) if sun else wbgt_without_sun(wet, globe)
    assert round(found, 1) == float(row["wbgt_C"])
    rate = RATES[int(row["iso_class"])]
    highest = limit(effort(rate, 0), used=row["acclimatised"] == "1", by="iso")
    worn = found + float(row["cav_C"])
    assert (round(worn, 1), highest) == (float(row["wbgt_eff_C"]), float(row["iso_ref_C"]))
    assert (worn > highest) is (row["verdict"] == "exceeds")


@pytest.mark.parametrize("row", rows("wbgt_limits"), ids=id_of)
def test_each_class_of_work(row: dict[str, str]) -> None:
    rate = RATES[int(row["iso_class"])]
    assert (rate.key, rate.watts, rate.from_watts) == (row["name"], int(row["metab_W"]), int(row["from_W"]))
    assert (rate.iso_used, rate.iso_new) == (
        int(row["iso_ref_acclimatised_C"]),
        int(row["iso_ref_not_acclimatised_C"]),
    )
    assert niosh_limit(rate.watts, used=True) == pytest.approx(float(row["niosh_REL_C"]), abs=0.006)
    assert niosh_limit(rate.watts, used=False) == pytest.approx(float(row["niosh_RAL_C"]), abs=0.006)
    following = next((r.from_watts for r in RATES if r.number == rate.number + 1), None)
    assert str(following or "") == row["to_W"]


@pytest.mark.parametrize("row", rows("wbgt_abm_estimate"), ids=id_of)
def test_each_estimate_of_the_sun_screen(row: dict[str, str]) -> None:
    t, r = float(row["t_air_C"]), float(row["rh_pct"])
    assert vapour_pressure_hpa(t, r) == pytest.approx(float(row["vapour_pressure_hPa"]), abs=0.001)
    assert sun_screen(t, r) == pytest.approx(float(row["wbgt_estimate_C"]), abs=0.006)


@pytest.mark.parametrize("row", rows("clothing_adjustment"), ids=id_of)
def test_each_row_of_both_clothing_lists(row: dict[str, str]) -> None:
    dress, hood = row["ensemble"], row["ensemble"] == "hood_addition"
    for chosen, column in ((ISO, "iso7243_2017_annexF_C"), (ACGIH, "acgih_niosh_osha_C")):
        value: Any = float(row[column]) if row[column] else None
        assert adds("work_clothes" if hood else dress, hood, chosen).value == value


@pytest.mark.parametrize("row", rows("niosh_adjusted_temp"), ids=id_of)
def test_each_worked_adjusted_temperature(row: dict[str, str]) -> None:
    sun = {"full": "full", "partly_cloudy": "partly cloudy", "shade_or_night": "none"}[row["sun"]]
    rate = RATES[{"light": 1, "moderate": 2, "heavy": 3}[row["work"]]]
    t, r = float(row["air_temp_f"]), float(row["rh_pct"])
    found = work_rest((t - 32) * 5 / 9, r, sun, rate, normal=True)
    if row["status"] == "out_of_table":
        assert adjusted_temp_f(t, r, sun) is None
        assert found.schedule is None
        assert "competent person" in found.why
    else:
        assert adjusted_temp_f(t, r, sun) == found.adjusted_f == int(row["adjusted_temp_f"])
        assert found.schedule == schedule(row["schedule"])


@pytest.mark.parametrize("row", rows("niosh_work_rest"), ids=id_of)
def test_each_row_of_work_and_rest(row: dict[str, str]) -> None:
    celsius = (float(row["adjusted_temp_f"]) - 32) * 5 / 9
    for number, column in enumerate(("light", "moderate", "heavy"), 1):
        found = work_rest(celsius, 30, "none", RATES[number], normal=True)
        assert found.schedule == schedule(row[column])


def schedule(word: str) -> str:
    return {"Normal": "", "Caution": "caution: no work in it without a competent person"}.get(word, word)


def test_the_wet_bulb_against_the_example_of_its_paper_and_the_psychrometer() -> None:
    # Stull 2011: 20 °C and 50 % give 13.7 °C. The psychrometer equation (WMO guide, 0.000662 and 1013.25 hPa, from
    # memory) is solved here in its own way; the fit may differ by 1 °C at most.
    assert wet_bulb(20, 50) == pytest.approx(13.7, abs=0.05)
    for t in range(10, 46, 5):
        for r in range(10, 100, 10):
            low, high = -20.0, float(t)
            for _ in range(60):
                mid = (low + high) / 2
                left = vapour_pressure_hpa(mid, 100) - 0.000662 * 1013.25 * (t - mid)
                low, high = (mid, high) if left < vapour_pressure_hpa(t, r) else (low, mid)
            assert abs(wet_bulb(t, r) - low) < 1.0, (t, r)
