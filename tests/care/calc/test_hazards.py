"""What materials, kinds and findings say about hazards."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.care.calc.hazards import BY_MATERIAL, STATES, implied_hazards, resolved_hazards

IMPLIED = [
    (["wool", "silk lining", "brass buttons"], {}),
    (["lithium-ion pack"], {"battery": "confirmed"}),
    (["brass", "electrics"], {"battery": "untested"}),
    (["radium paint"], {"radium": "suspected"}),
    (["leather", "lead"], {"lead": "suspected"}),
    (["Lead"], {"lead": "suspected"}),
    (["lead-free solder"], {}),
    (["old fur"], {"old_poison": "untested", "protected_species": "untested"}),
    (["fur felt"], {"mercury": "untested"}),
    (["faux fur"], {}),
    (["foam latex"], {"foam_latex": "confirmed"}),
    (["natural rubber"], {"natural_rubber": "confirmed"}),
    (["rubber"], {"natural_rubber": "suspected"}),
    (["silicone rubber"], {}),
    (["glass"], {"glass": "confirmed"}),
    (["glass eyes"], {"glass": "confirmed"}),
    (["glass fibre"], {}),
    (["glass fibre", "glass"], {"glass": "confirmed"}),
    (["ivory"], {"protected_species": "untested"}),
    (["celluloid"], {"celluloid": "suspected"}),
    (["pleaded linen", "glassine paper"], {}),  # a word inside another word is none
    ([], {}),
]


@pytest.mark.parametrize(("materials", "expected"), IMPLIED)
def test_materials_imply(materials: list[str], expected: dict[str, str]) -> None:
    assert {code: found.state for code, found in implied_hazards(materials).items()} == expected


@pytest.mark.parametrize(
    ("material", "made_year", "poison"),
    [
        ("rabbit fur", None, True),
        ("rabbit fur", 1970, True),
        ("rabbit fur", 1989, True),
        ("rabbit fur", 1990, False),
        ("rabbit fur", 2009, False),
        ("old fur", 2009, True),  # the fur is older than the piece
        ("vintage rabbit fur", 2009, True),
    ],
)
def test_age_decides_about_old_poison_unless_the_fur_is_older(
    material: str, made_year: int | None, poison: bool
) -> None:
    assert ("old_poison" in implied_hazards([material], made_year=made_year)) is poison


@pytest.mark.parametrize(
    ("kind", "codes"),
    [
        ("halberd", {"prop_weapon"}),
        ("rubber knife", {"prop_weapon"}),
        ("flintlock pistol", {"prop_weapon", "replica_gun"}),
        ("bow tie", set()),
        ("coat", set()),
        ("", set()),
    ],
)
def test_kinds_imply(kind: str, codes: set[str]) -> None:
    assert set(implied_hazards([], kind=kind)) == codes


@pytest.mark.parametrize("state", STATES)
def test_a_finding_beats_the_material(state: str) -> None:
    assert resolved_hazards(["fur felt"], [("mercury", state)])["mercury"] == state


def test_of_two_findings_the_graver_stands() -> None:
    assert resolved_hazards([], [("lead", "cleared"), ("lead", "untested")]) == {"lead": "untested"}
    assert resolved_hazards([], [("lead", "confirmed"), ("lead", "suspected")]) == {"lead": "confirmed"}


def test_an_unknown_state_is_refused() -> None:
    with pytest.raises(ValueError, match="'maybe' is no state"):
        resolved_hazards([], [("lead", "maybe")])


def test_every_implied_hazard_says_why() -> None:
    found = implied_hazards(["fur felt"], kind="pistol")
    assert found["mercury"].because == "'fur felt' is named among the materials."
    assert found["replica_gun"].because == "The piece is recorded as 'pistol'."


@given(
    st.lists(st.sampled_from([row.phrase for row in BY_MATERIAL]), max_size=4),
    st.sampled_from([row.phrase for row in BY_MATERIAL]),
    st.sampled_from([None, 1950, 2009]),
)
def test_one_more_material_never_takes_a_hazard_away(materials: list[str], more: str, year: int | None) -> None:
    before = resolved_hazards(materials, (), made_year=year)
    after = resolved_hazards([*materials, more], (), made_year=year)
    for code, state in before.items():
        assert STATES.index(after[code]) >= STATES.index(state)
