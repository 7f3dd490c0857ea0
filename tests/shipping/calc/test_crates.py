"""A full crate: what is charged, which hold it enters, how it is lifted, and where its weight is."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.shipping.calc.aircraft import ASK, FITS, HOLDS, TOO_HEAVY, TOO_LARGE, passage, too_much_for
from catalog.shipping.calc.crate_lift import CAUTIONS, crate_lift
from catalog.shipping.calc.freight import DIVISORS, chargeable_g, charged
from catalog.shipping.calc.laying import ALONG, FLOOR, TOP, lay
from catalog.shipping.calc.pack_problem import PackRules, Spec, Thing

TRUNK = Spec("trunk", (900, 500, 400), 9_000, 32_000)
NARROW, WIDE, PALLET, FREIGHTER = HOLDS


def test_light_crates_are_charged_by_volume_and_heavy_ones_by_weight() -> None:
    air, _, _ = DIVISORS
    found = charged([((1_200, 600, 500), 30_000), ((500, 400, 300), 18_200)], air)
    assert (found.actual_g, found.volume_g, found.chargeable_g) == (48_200, 70_000, 60_000 + 18_500)
    assert found.by_volume


@given(st.tuples(*[st.integers(50, 3_000)] * 3), st.integers(1, 500_000), st.sampled_from(DIVISORS))
def test_nobody_is_charged_less_than_the_weight_or_much_more_than_the_greater(
    outer: tuple[int, int, int], gross: int, divisor: object
) -> None:
    found = chargeable_g(outer, gross, divisor)  # type: ignore[arg-type]
    greater = max(gross, outer[0] * outer[1] * outer[2] / divisor.cm3_per_kg)  # type: ignore[attr-defined]
    assert greater <= found < greater + divisor.step_g + 1  # type: ignore[attr-defined]
    assert found % divisor.step_g == 0  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("outer", "gross", "hold", "word"),
    [
        ((1_000, 600, 400), 80_000, NARROW, FITS),
        ((600, 1_000, 400), 80_000, NARROW, FITS),
        # Never on its side: it would be low enough then.
        ((600, 400, 1_000), 20_000, NARROW, TOO_LARGE),
        ((1_000, 600, 400), 81_000, NARROW, TOO_HEAVY),
        ((1_800, 600, 400), 30_000, WIDE, TOO_LARGE),
        ((1_200, 1_000, 1_590), 200_000, PALLET, ASK),
        ((1_200, 1_000, 1_750), 200_000, PALLET, TOO_LARGE),
        ((1_200, 1_000, 1_750), 200_000, FREIGHTER, ASK),
    ],
)
def test_which_hold_a_crate_enters(outer: tuple[int, int, int], gross: int, hold: object, word: str) -> None:
    assert passage(outer, gross, hold).word == word  # type: ignore[arg-type]


def test_a_figure_from_memory_never_says_that_a_crate_fits() -> None:
    for hold in HOLDS:
        if hold.confidence == "M":
            assert passage((100, 100, 100), 100, hold).word == ASK
    assert too_much_for([("A", (1_200, 600, 500), 20_000), ("B", (300, 300, 300), 9_000)])[0] == (NARROW, ("A",))


def test_the_mark_names_hands_and_limit() -> None:
    assert crate_lift(23_000, 23_000, 30_000).mark == "one person"
    assert crate_lift(23_001, 23_000, 30_000).mark == "two people"
    assert crate_lift(30_001, 23_000, 30_000).mark == "not by hand"
    assert any("Local rules decide" in caution for caution in CAUTIONS)


def test_equal_weights_at_both_ends_balance_and_the_heavy_one_lies_low() -> None:
    of = tuple(Thing(f"T{n}", kg * 1_000, (300, 300, 100)) for n, kg in enumerate((8, 4, 4, 1)))
    found = lay(of, TRUNK, PackRules())
    assert found.laid[0].number == "T0"
    assert abs(found.centre.off_mm) <= 60
    assert found.centre.above_mm < 200
    assert found.centre.gross_g == 26_000
    assert not found.centre.top_heavy


def test_a_light_helmet_comes_last_and_a_heavy_one_stands_on_the_floor() -> None:
    coat = Thing("coat", 2_000, (800, 400, 60))
    light = Thing("helmet", 3_000, (350, 350, 300), on_top=True)
    first = lay((light, coat), TRUNK, PackRules())
    assert (first.laid[0].number, first.laid[0].bay) == ("coat", ALONG)
    assert first.laid[-1].free == TOP
    heavy = Thing("helmet", 15_000, (350, 350, 300), on_top=True)
    assert lay((heavy, coat), TRUNK, PackRules()).laid[0].free == FLOOR


@given(
    st.lists(
        st.builds(
            Thing,
            number=st.uuids().map(str),
            weight_g=st.integers(100, 9_000),
            sides_mm=st.tuples(st.integers(50, 800), st.integers(50, 400), st.integers(20, 350)),
            on_top=st.booleans(),
        ),
        max_size=12,
    )
)
def test_everything_is_laid_once_and_the_centre_lies_in_the_crate(of: list[Thing]) -> None:
    found = lay(of, TRUNK, PackRules())
    assert sorted(one.number for one in found.laid) == sorted(thing.number for thing in of)
    assert abs(found.centre.off_mm) <= 450
    assert 0 <= found.centre.above_mm <= 400
