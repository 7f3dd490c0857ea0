"""Which hours a role may work: the four answers, and that more heat, weight or ignorance never makes one better."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.shipping.calc import heat_body
from catalog.shipping.calc.heat_dress import ACGIH, CREATURE, ISO, LISTS, WORDS, adds
from catalog.shipping.calc.heat_hours import (
    SKIES,
    UNKNOWN_SKY,
    HeatVerdict,
    Wearing,
    Weather,
    closed_spans,
    judge,
    spans,
    worst_of,
)
from catalog.shipping.calc.heat_limits import RATE, RATES, effort
from catalog.shipping.calc.wbgt import wbgt_range

ROOF = SKIES["tin roof"]


def wearing(dress: str = "work_clothes", **facts: Any) -> Wearing:
    given: dict[str, Any] = {"rate": RATE["low"], "weight_g": 0, "used": True, "limits": "iso"}
    return Wearing(adds(dress, facts.pop("hood", False), ISO), **(given | facts))


@pytest.mark.parametrize(
    ("weather", "worn", "answer"),
    [
        # 18 °C, 50 %: sun screen 18.2 °C (0.567 x 18 + 0.393 x 10.3 + 3.94), limit 30.
        (Weather(18, 50, SKIES["sun"]), wearing(), "may"),
        # 32 °C, 50 %: sun screen 31.4 °C above 30, shade about 26 below it.
        (Weather(32, 50, SKIES["sun"]), wearing(), "measure first"),
        (Weather(32, 50, SKIES["indoors"]), wearing(), "may"),
        (Weather(26, 88, ROOF), wearing("vb_coverall_with_hood"), "no"),
        (Weather(8, 50, SKIES["indoors"]), wearing("vb_coverall_with_hood"), "may"),
        (Weather(8, 50, SKIES["indoors"]), wearing(CREATURE), "measure first"),
        (Weather(8, 50, SKIES["indoors"]), wearing(weight_g=None), "measure first"),
        (Weather(8, 50, SKIES["indoors"]), wearing("short_sleeves_and_trousers"), "unknown"),
        (Weather(8, 50, SKIES["indoors"]), wearing(rate=None), "unknown"),
        (Weather(None, 50, ROOF), wearing(), "unknown"),
        (Weather(30, None, ROOF), wearing(), "unknown"),
        (None, wearing(), "unknown"),
    ],
)
def test_the_four_answers(weather: Weather | None, worn: Wearing, answer: str) -> None:
    found = judge(weather, worn)
    assert found.verdict == answer
    assert found.why


def test_why_names_the_figures_and_what_is_missing() -> None:
    found = judge(Weather(26, 88, ROOF), wearing("vb_coverall_with_hood"))
    assert found.wbgt is not None
    assert found.worn is not None
    assert found.worn.low == pytest.approx(found.wbgt.low + 11)
    assert f"{found.worn.low:.1f} °C is above the limit of 30.0 °C" in found.why
    assert "not in ISO 7243:2017" in judge(Weather(26, 88, ROOF), wearing("short_sleeves_and_trousers")).why
    assert "no weather" in judge(None, wearing()).why


def test_the_two_lists_are_kept_apart() -> None:
    assert adds("nonwoven_polyolefin_single", False, ISO).value == 2
    assert adds("nonwoven_polyolefin_single", False, ACGIH).value == 1
    assert adds("vb_coverall_no_hood", False, ACGIH).value is None
    assert {row for chosen in LISTS.values() for row in chosen.adds} | {CREATURE} == set(WORDS)
    assert adds("vb_coverall_no_hood", True, ISO).value == adds("vb_coverall_with_hood", True, ISO).value == 11


def test_a_creature_suit_is_assumed_and_says_who_decides() -> None:
    for chosen in LISTS.values():
        found = adds(CREATURE, True, chosen)
        assert (found.value, found.assumed) == (11, True)
        assert "a competent person decides" in found.why


def test_a_load_lifts_the_class_of_work() -> None:
    assert effort(RATE["low"], 0).rate.key == "low"
    assert (effort(RATE["low"], 36_400).watts, effort(RATE["low"], 36_400).rate.key) == (362.0, "high")


def test_the_table_of_work_and_rest_is_silent_for_a_costume() -> None:
    # 95 °F, 30 %, full sun: 95 + 13 = 108, for light work 35/25.
    plain = judge(Weather(35, 30, SKIES["sun"]), wearing()).rest
    assert plain is not None
    assert (plain.schedule, plain.adjusted_f) == ("35/25", 108)
    for worn in (wearing("double_woven"), wearing(hood=True), wearing(CREATURE)):
        costume = judge(Weather(35, 30, SKIES["sun"]), worn).rest
        assert costume is not None
        assert (costume.schedule, costume.adjusted_f) == (None, None)
        assert "normal work clothing only" in costume.why


def test_spans_bridge_only_what_nobody_knows() -> None:
    no, unknown, measure = HeatVerdict.NO, HeatVerdict.UNKNOWN, HeatVerdict.MEASURE
    assert spans([10, 11, 12, 15]) == [(10, 13), (15, 16)]
    assert closed_spans([(10, no), (11, unknown), (12, no)]) == [(10, 13)]
    assert closed_spans([(10, no), (12, no), (13, unknown)]) == [(10, 13)]
    assert closed_spans([(10, no), (11, measure), (12, no)]) == [(10, 11), (12, 13)]
    assert closed_spans([(10, measure)]) == []
    assert worst_of([measure, unknown, no]) is no
    assert worst_of([]) is unknown


def test_the_days_of_build_up() -> None:
    # NIOSH: 20 % on the first day and at most 20 more each day; who has done it before 50, 60, 80, 100.
    new = [heat_body.share_of_usual(heat_body.NEW, day) for day in range(1, 7)]
    assert new == [20, 40, 60, 80, 100, 100]
    assert [heat_body.share_of_usual(heat_body.RETURNING, day) for day in range(1, 5)] == [50, 60, 80, 100]
    assert heat_body.share_of_usual(heat_body.USED, 1) == 100
    assert heat_body.share_of_usual("", 3) == 20
    # NIOSH 2017-126: three hours, 72 to 96 ounces and never above 144 (an ounce taken as 30 ml).
    assert heat_body.water_ml(3) == (72 * 30, 96 * 30, 144 * 30)


SKY = st.sampled_from([*SKIES.values(), UNKNOWN_SKY])
WEATHER = st.builds(Weather, st.floats(0, 48), st.floats(5, 100), SKY, st.one_of(st.none(), st.floats(0, 15)))
WEARING = st.builds(
    Wearing,
    st.builds(adds, st.sampled_from(sorted(WORDS)), st.booleans(), st.sampled_from(list(LISTS.values()))),
    st.sampled_from(RATES),
    st.integers(0, 60_000),
    st.booleans(),
    st.sampled_from(["iso", "niosh"]),
)


@settings(max_examples=150, deadline=None)
@given(WEATHER, WEARING, st.floats(0, 15), st.integers(0, 40_000))
def test_hotter_or_heavier_is_never_better(weather: Weather, worn: Wearing, more: float, load: int) -> None:
    before = judge(weather, worn).verdict.rank
    assert weather.temp_c is not None
    assert worn.weight_g is not None
    assert judge(replace(weather, temp_c=weather.temp_c + more), worn).verdict.rank >= before
    assert judge(weather, replace(worn, weight_g=worn.weight_g + load)).verdict.rank >= before
    assert (
        judge(weather, replace(worn, used=False)).verdict.rank >= judge(weather, replace(worn, used=True)).verdict.rank
    )


@settings(max_examples=150, deadline=None)
@given(WEATHER, WEARING, st.sampled_from(["temp_c", "rh", "wind", "sky", "weight_g", "rate"]))
def test_what_is_not_known_is_never_better(weather: Weather, worn: Wearing, fact: str) -> None:
    nothing: dict[str, Any] = {fact: UNKNOWN_SKY if fact == "sky" else None}
    if fact in {"weight_g", "rate"}:
        found = judge(weather, replace(worn, **nothing))
    else:
        found = judge(replace(weather, **nothing), worn)
    known = judge(weather, worn)
    # A "no" may become an open question when its ground is gone; a question never becomes a yes.
    assert found.verdict.rank >= known.verdict.rank or known.verdict is HeatVerdict.NO
    assert found.verdict is not HeatVerdict.MAY or known.verdict is HeatVerdict.MAY


@settings(max_examples=100, deadline=None)
@given(st.floats(-5, 50), st.floats(0, 100), st.booleans(), st.one_of(st.none(), st.floats(0, 15)))
def test_the_bounds_stand_in_order(air: float, rh: float, radiates: bool, wind: float | None) -> None:
    found = wbgt_range(air, rh, radiates=radiates, wind=wind)
    assert found.low <= found.high
    assert wbgt_range(air, rh, radiates=True, wind=wind).high >= found.high or not radiates
