"""What counts as cleaning, when it needs a name, and what care takes nothing off."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.care.calc.evidence import Evidence, Told, allowed_instead, names_cleaning, needs_approval, refusal

# Conserve O Gram 16/2 (US National Park Service) names vacuuming and brushing as cleaning of textiles; washing, dry
# cleaning, wiping and polishing are in every handbook of care. The rest is common practice, no source.
CLEANING = [
    "wash", "Hand-wash cold", "vacuum through a screen", "brush off grit", "dry cleaning", "sponge the collar",
    "take to the cleaners", "wipe down", "polish the buttons", "Steam the hem", "stain removal",
]  # fmt: skip
NOT_CLEANING = [
    "freeze",
    "new band",
    "close a seam",
    "break down to look storm",
    "re-sole",
    "mend the hose",
    "unwashed",
]


@pytest.mark.parametrize("what", CLEANING)
def test_words_of_cleaning_are_known(what: str) -> None:
    assert names_cleaning(what)


@pytest.mark.parametrize("what", NOT_CLEANING)
def test_other_work_is_no_cleaning(what: str) -> None:
    assert not names_cleaning(what)


@pytest.mark.parametrize(
    ("told", "evidence", "asked"),
    [
        (Told(), Evidence.UNKNOWN, True),
        (Told("none"), Evidence.NONE, False),
        (Told("keep", "salt, scene 12"), Evidence.KEEP, True),
        (Told("none", marks=("soot at cuff",)), Evidence.KEEP, True),
        (Told(marks=("soot at cuff",)), Evidence.KEEP, True),
    ],
)
def test_unknown_never_counts_as_a_yes(told: Told, evidence: Evidence, asked: bool) -> None:
    assert told.evidence is evidence
    assert needs_approval(told, cleaning=True) is asked
    assert not needs_approval(told, cleaning=False)


def test_the_refusal_says_what_and_what_to_do() -> None:
    said = refusal("ABC-0001", "wash", Told("keep", "salt, scene 12"))
    assert said.startswith("“wash” may not begin on ABC-0001: on-screen breakdown: keep (salt, scene 12).")
    assert "by name" in said
    assert "Say that there is none" in refusal("ABC-0001", "wash", Told())


FAMILIES = ["cloth", "knit", "leather", "fur", "metal", "foam rubber", "soft pvc", "wood", "electric", "glass", "other"]


@settings(max_examples=60, deadline=None)
@given(st.sets(st.sampled_from(FAMILIES)), st.booleans(), st.booleans())
def test_what_is_allowed_takes_nothing_off(families: set[str], cold: bool, airless: bool) -> None:
    found = allowed_instead(families, cold=cold, airless=airless, poison=False)
    assert found
    assert len(set(found)) == len(found)
    assert ("the freezer, bagged" in found[-1]) is cold
    poisoned = allowed_instead(families, cold=cold, airless=airless, poison=True)
    assert poisoned == ("leave it bagged, gloves and mask: what is in it decides first",)
