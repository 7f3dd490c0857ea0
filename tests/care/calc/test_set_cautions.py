"""What to mind while somebody has it on. Amounts of water: NIOSH 2017-126 (8 oz each 15 to 20 minutes, at most 48 oz an
hour). The rest: the sources beside the words, or common practice.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.care.calc.cautions import HAZARDS
from catalog.care.calc.hazards import STATES
from catalog.care.calc.set_cautions import set_cautions_for
from catalog.care.calc.wear import REACHES_WEARER, Decision, wear_of
from catalog.loans.calc.sign_out import against_sign_out

OUNCE_L = 0.0295735  # the US fluid ounce, NIST Handbook 44, appendix C


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("lead", ("Gloves", "Wash hands", "nobody eats")),
        ("breathing", ("Off between takes", "fast release")),
        ("foam_ageing", ("breathed in", "not worn")),
        ("vision", ("Somebody leads",)),
        ("old_poison", ("not worn", "not steamed")),
        ("mercury", ("not worn", "not steamed")),
        ("heavy", ("Two people",)),
        ("heat_load", ("Shade", "1.4 litres in an hour")),
    ],
)
def test_each_says_what_the_hand_must_do(code: str, words: tuple[str, ...]) -> None:
    (one,) = set_cautions_for({code: "confirmed"})
    assert one.source
    assert [word for word in words if word not in one.text] == []
    assert set_cautions_for({code: "cleared"}) == ()


def test_the_water_is_that_of_the_source() -> None:
    (heat,) = set_cautions_for({"heat_load": "confirmed"})
    assert round(8 * OUNCE_L, 2) == 0.24  # "a quarter of a litre"
    assert round(48 * OUNCE_L, 1) == 1.4
    assert "a quarter of a litre of water every 15 to 20 minutes" in heat.text
    assert "NIOSH 2017-126" in heat.source


def test_a_helmet_nobody_looked_at_still_closes() -> None:
    assert "If it closes over the face: off between takes" in set_cautions_for({}, kind="helmet")[0].text
    assert set_cautions_for({"breathing": "cleared"}, kind="helmet") == ()
    assert set_cautions_for({}, kind="coat") == ()


@given(st.dictionaries(st.sampled_from(sorted(HAZARDS)), st.sampled_from(STATES)))
def test_every_open_hazard_is_told_once_and_no_cleared_one(hazards: dict[str, str]) -> None:
    told = [one.code for one in set_cautions_for(hazards)]
    assert sorted(told) == sorted(code for code, state in hazards.items() if state != "cleared")


@pytest.mark.parametrize("worn", [True, False])
@pytest.mark.parametrize("hazard", sorted(REACHES_WEARER))
@pytest.mark.parametrize("state", ["untested", "suspected", "confirmed"])
def test_what_reaches_the_wearer_stays_in_whatever_was_decided(hazard: str, state: str, worn: bool) -> None:
    wear = wear_of(Decision("wear"), {hazard: state}, materials_known=True)
    assert against_sign_out("A-1", wear, worn=worn).startswith("A-1 stays in and is not signed out. There ")
    cleared = wear_of(Decision("wear"), {hazard: "cleared"}, materials_known=True)
    assert against_sign_out("A-1", cleared, worn=worn) == ""


def test_unknown_is_no_yes_for_what_is_put_on() -> None:
    nobody = wear_of(None, {}, materials_known=False)
    assert "Nobody has decided yet" in against_sign_out("A-1", nobody, worn=True)
    assert against_sign_out("A-1", nobody, worn=False) == ""
    swollen = wear_of(None, {}, materials_known=True, damaged_pack=True)
    assert "swollen" in against_sign_out("A-1", swollen, worn=False)
