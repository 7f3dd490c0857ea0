"""May it be worn: a table of cases, and what holds for every mixture of facts."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.care.calc.cautions import HAZARDS, cautions_for, hazard_name, waiting_for_a_test
from catalog.care.calc.hazards import BY_KIND, BY_MATERIAL, STATES
from catalog.care.calc.marks import WORDS, ZONES, words_for
from catalog.care.calc.wear import REACHES_WEARER, Decision, Report, Wear, wear_of

DECISIONS = ("wear", "wear with limits", "wear after repair", "reference only", "not wearable")


@pytest.mark.parametrize(
    ("decision", "wear"),
    [
        (None, Wear.NO),
        (Decision("wear"), Wear.YES),
        (Decision("wear with limits", limits="no rain"), Wear.LIMITS),
        (Decision("wear after repair", repair="seam", repair_days=2), Wear.REPAIR),
        (Decision("reference only"), Wear.NO),
        (Decision("not wearable"), Wear.NO),
    ],
)
def test_the_decision_alone(decision: Decision | None, wear: Wear) -> None:
    state = wear_of(decision, {}, materials_known=True)
    assert state.wear is wear
    assert bool(state.why) is (wear is Wear.NO)


@pytest.mark.parametrize("decision", DECISIONS)
def test_a_decision_in_question_is_a_no_with_its_reason(decision: str) -> None:
    asked = Decision(
        decision,
        "no rain",
        repair="seam",
        repair_days=2,
        questioned_on=date(2026, 11, 25),
        questioned_why="came home wet",
    )
    state = wear_of(asked, {}, materials_known=True)
    assert state.wear is Wear.NO
    assert state.why[0] == "On 25 Nov 2026 it came home wet. Look at it and decide anew."


@given(
    decision=st.none() | st.sampled_from(DECISIONS).map(lambda word: Decision(word, repair_days=3)),
    hazards=st.dictionaries(st.sampled_from([*HAZARDS, "house word"]), st.sampled_from(STATES)),
    known=st.booleans(),
    damaged=st.booleans(),
)
def test_unknown_never_counts_as_a_yes(
    decision: Decision | None, hazards: dict[str, str], known: bool, damaged: bool
) -> None:
    state = wear_of(decision, hazards, materials_known=known, damaged_pack=damaged)
    reaching = [code for code, found in hazards.items() if code in REACHES_WEARER and found != "cleared"]
    if decision is None or reaching or not known or damaged:
        assert state.wear is Wear.NO
        assert state.why
        assert state.repair_days is None
    assert state.may_be_worn <= state.may_be_worn_once_repaired
    # Clearing everything never makes it worse.
    cleared = wear_of(decision, dict.fromkeys(hazards, "cleared"), materials_known=known, damaged_pack=damaged)
    assert state.may_be_worn_once_repaired <= cleared.may_be_worn_once_repaired


def test_every_implied_hazard_has_a_name_and_a_caution() -> None:
    codes = {code for row in (*BY_MATERIAL, *BY_KIND) for code, _ in row.hazards}
    assert codes
    assert codes <= set(HAZARDS)
    assert set(REACHES_WEARER) <= {code for code, words in HAZARDS.items() if words.testable}


def test_cautions_come_gravest_first_and_cleared_ones_are_silent() -> None:
    found = cautions_for({"glass": "confirmed", "mercury": "untested", "lead": "cleared"}, damaged_pack=True)
    assert [caution.name for caution in found] == ["damaged pack", "mercury in felt", "glass"]
    assert cautions_for({}) == ()
    assert hazard_name("own_word") == "own word"


def test_only_a_test_settles_what_is_testable() -> None:
    states = {"mercury": "suspected", "radium": "confirmed", "old_poison": "cleared", "lead": "untested"}
    assert waiting_for_a_test(states) == ("mercury",)


def test_words_follow_the_material() -> None:
    assert words_for(["paper"]) == WORDS["paper"]
    assert words_for(["wood", "paper"]) == (*WORDS["wood"], *WORDS["paper"])
    assert len(words_for([])) == len(set(words_for([]))) > 80
    assert not {zone for zone in ZONES if "proper" in zone}


@pytest.mark.parametrize(
    ("report", "stops"),
    [
        (Report(5, "stable", "complete", date(2026, 7, 2)), True),
        (Report(2, "active", "complete", date(2026, 7, 1)), True),
        (Report(2, "stable", "fragment", date(2026, 7, 1)), True),
        (Report(4, "stable", "complete", date(2026, 7, 2)), True),
        (Report(4, "stable", "complete", date(2026, 7, 1)), False),
        (Report(3, "watch", "incomplete", date(2026, 7, 2)), False),
        (Report(5, "active", "fragment", date(2026, 6, 30)), False),
    ],
)
def test_a_grave_report_since_the_decision_is_a_no_until_somebody_decides_again(report: Report, stops: bool) -> None:
    decided = Decision("wear", decided_on=date(2026, 7, 1))
    state = wear_of(decided, {}, materials_known=True, report=report)
    assert (state.wear is Wear.NO) is stops
    assert bool(state.why) is stops
