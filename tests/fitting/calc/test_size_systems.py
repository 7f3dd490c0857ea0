"""Size labels against published tables; the source stands beside each."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.fitting.calc.bands import body_eu, eu_to_mm
from catalog.fitting.calc.size_systems import (
    BARLEYCORN,
    FEET,
    Shoe,
    SizeError,
    bust_size,
    chest_letter,
    foot_mm,
    glove_sizes,
    hat_sizes,
    labels_of,
    mixed,
    shoe_size,
    shoe_sizes,
)

# healthystepsdfw (a foot clinic's page): US men's size 1 is 7 2/3 in, and each size a third of an inch more.
US_MEN = [(size, Fraction(23, 3) + Fraction(size - 1, 3)) for size in range(4, 15)]


@pytest.mark.parametrize(("size", "inches"), US_MEN)
def test_us_mens_sizes_count_thirds_of_an_inch(size: int, inches: Fraction) -> None:
    foot = round(inches * Fraction(254, 10))
    assert shoe_size(Shoe.US_MEN, foot) == size
    assert foot_mm(Shoe.US_MEN, size) == foot
    # UK one less (secondary source), US women's one more (one table, from memory).
    assert (shoe_size(Shoe.UK, foot), shoe_size(Shoe.US_WOMEN, foot)) == (size - 1, size + 1)


# ISO/TS 19407:2015: European sizes are 6.67 mm apart and start at zero (of the last).
@pytest.mark.parametrize(("eu", "last"), [(36, 240.0), (39, 260.0), (42, 280.0), (45, 300.0)])
def test_eu_sizes_are_two_thirds_of_a_centimetre_of_last(eu: int, last: float) -> None:
    assert eu_to_mm(eu) == last
    assert shoe_size(Shoe.EU, round(last) - 15) == eu


# calcmastermind.com/calculators/shoe_size states EU = (foot in cm + 1.5) x 1.5, which the house uses.
# Another common formula, 1.5 x foot in cm + 2, gives a quarter of a size less: never more than one size apart.
@given(st.integers(*FEET))
def test_the_two_common_eu_formulas_never_part_by_more_than_a_size(foot: int) -> None:
    assert abs(body_eu(foot) - (Fraction(foot, 10) * Fraction(3, 2) + 2)) <= Fraction(3, 4)


# ISO 9407 marks the foot length in mm; 5 mm steps from zero (ISO/TS 19407:2015, citing DIN 66074-2:1975).
@pytest.mark.parametrize(("foot", "size"), [(270, 270), (272, 270), (273, 275), (268, 270), (267, 265)])
def test_mondopoint_is_the_foot_in_steps_of_five(foot: int, size: int) -> None:
    assert shoe_size(Shoe.MONDOPOINT, foot) == size


def test_a_foot_of_27_cm_in_every_system() -> None:
    labels = shoe_sizes(270)
    assert [str(label) for label in labels] == ["Mondopoint 270", "EU 43", "UK 9", "US men 10", "US women 11"]
    assert all(label.source for label in labels)
    assert {label.system for label in labels if label.from_memory} == {"EU", "UK", "US women"}


@given(st.integers(*FEET), st.sampled_from(Shoe))
def test_a_size_leads_back_to_the_foot_within_half_a_step(foot: int, system: Shoe) -> None:
    step = {Shoe.EU: Fraction(20, 3), Shoe.MONDOPOINT: Fraction(5)}.get(system, Fraction(254, 60))
    size = shoe_size(system, foot)
    try:
        back = foot_mm(system, size)
    except SizeError:
        back = foot  # the middle of the first or last size lies just outside
    assert abs(back - foot) <= step / 2 + Fraction(1, 2)


@given(st.integers(FEET[0], FEET[1] - 1), st.sampled_from(Shoe))
def test_a_longer_foot_never_takes_a_smaller_size(foot: int, system: Shoe) -> None:
    assert shoe_size(system, foot + 1) >= shoe_size(system, foot)


@pytest.mark.parametrize("foot", [0, 150, 209, 331, 1760])
def test_a_child_or_a_slip_has_no_adult_size(foot: int) -> None:
    with pytest.raises(SizeError, match="from 21 to 33 cm"):
        shoe_sizes(foot)
    assert labels_of("foot_length", foot) == ()


@pytest.mark.parametrize(("system", "size"), [(Shoe.EU, 20), (Shoe.UK, 30), (Shoe.US_MEN, -3), (Shoe.MONDOPOINT, 27)])
def test_a_size_nobody_wears_is_refused(system: Shoe, size: int) -> None:
    with pytest.raises(SizeError, match="is no adult size"):
        foot_mm(system, size)


# EN 420:2003 as granberg.no and focal-gloves.com quote it: size, hand girth, hand length.
EN_420 = [(6, 152, 160), (7, 178, 171), (8, 203, 182), (9, 229, 192), (10, 254, 204), (11, 279, 215)]


@pytest.mark.parametrize(("size", "girth", "length"), EN_420)
def test_gloves(size: int, girth: int, length: int) -> None:
    assert [label.size for label in glove_sizes(girth, length)] == [str(size)] * 2
    assert abs(girth - size * 25.4) < 1  # the size is the girth in inches


def test_a_broad_short_hand_is_told_both_ways() -> None:
    by_girth, by_length = glove_sizes(229, 171)
    assert (str(by_girth), str(by_length)) == ("EN 420, by hand girth 9", "EN 420, by hand length 7")
    assert glove_sizes(240)[0].size == "9"
    for girth, length in ((130, None), (300, None), (229, 100), (229, 260)):
        with pytest.raises(SizeError):
            glove_sizes(girth, length)


# Head girth in cm and US size: table at superglobalcalculator.com/calculators/fashion/hat-size; UK an eighth less:
# liquisearch.com/hat/hat_size.
HATS = [
    (53, "6⅝", "6½"), (54, "6¾", "6⅝"), (55, "6⅞", "6¾"), (56, "7", "6⅞"), (57, "7⅛", "7"), (58, "7¼", "7⅛"),
    (59, "7⅜", "7¼"), (60, "7½", "7⅜"), (61, "7⅝", "7½"), (62, "7¾", "7⅝"), (63, "7⅞", "7¾"), (64, "8", "7⅞"),
]  # fmt: skip


@pytest.mark.parametrize(("cm", "us", "uk"), HATS)
def test_hats(cm: int, us: str, uk: str) -> None:
    assert [label.size for label in hat_sizes(cm * 10)] == [str(cm), us, uk]


def test_no_head_is_2_metres_round() -> None:
    with pytest.raises(SizeError, match="Heads from 48 to 68 cm"):
        hat_sizes(2000)


# EN 13402-3: women's bust limits as the R package Anthropometry cites them; men's letters from a secondary quotation.
@pytest.mark.parametrize(
    ("bust", "size"), [(740, "74–78"), (779, "74–78"), (1020, "102–107"), (1070, "107–113"), (1309, "125–131")]
)
def test_busts(bust: int, size: str) -> None:
    assert bust_size(bust).size == f"{size} cm"


@pytest.mark.parametrize(
    ("chest", "letter"), [(860, "S"), (939, "S"), (940, "M"), (1020, "L"), (1100, "XL"), (1180, "XXL"), (1289, "XXL")]
)
def test_chests(chest: int, letter: str) -> None:
    assert chest_letter(chest).size == letter
    assert chest_letter(chest).from_memory


@pytest.mark.parametrize("girth", [600, 1400])
def test_girths_outside_the_standard(girth: int) -> None:
    for asked in (bust_size, chest_letter):
        with pytest.raises(SizeError):
            asked(girth)


def test_only_points_with_a_system_have_labels() -> None:
    assert [str(label) for label in labels_of("head", 580)] == ["EU 58", "US 7¼", "UK 7⅛"]
    assert [str(label) for label in labels_of("hand_girth", 229)] == ["EN 420, by hand girth 9"]
    assert labels_of("chest", 1000) == ()
    assert set(BARLEYCORN) | {Shoe.EU, Shoe.MONDOPOINT} == set(Shoe)


@pytest.mark.parametrize(
    ("size", "text"), [(Fraction(17, 2), "8½"), (Fraction(57, 8), "7⅛"), (Fraction(42), "42"), (Fraction(1, 2), "½"),
                       (Fraction(0), "0"), (Fraction(1, 3), "0.333333")]
)  # fmt: skip
def test_sizes_are_written_as_they_are_marked(size: Fraction, text: str) -> None:
    assert mixed(size) == text
