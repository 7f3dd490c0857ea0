"""The condition language: three answers, and what it refuses."""

from itertools import product

import pytest

from catalog.shipping.calc.facts import Pack, PieceFacts, Trip
from catalog.shipping.calc.rules import RuleBook
from catalog.shipping.calc.travel import Known
from catalog.shipping.calc.trigger import TriggerError, parse

TRUE, FALSE, UNKNOWN = {"longest_mm": {"gt": 0}}, {"longest_mm": {"lt": 0}}, {"weight_g": {"gt": 0}}
VALUES = {True: TRUE, False: FALSE, None: UNKNOWN}


def ask(trigger: object, pack: int | None = None, **facts: object) -> bool | None:
    known = PieceFacts(number="X", **({"materials": frozenset({"wool"}), "longest_mm": 10} | facts))
    return parse(trigger).evaluate(Known(known, Trip(), RuleBook(())), pack).truth


@pytest.mark.parametrize(("a", "b"), list(product(VALUES, repeat=2)))
def test_all_and_any_follow_the_strong_three_valued_tables(a: bool | None, b: bool | None) -> None:
    """S. C. Kleene, Introduction to Metamathematics (1952), section 64: "and" is the least, "or" the greatest."""
    order = {False: 0, None: 1, True: 2}
    assert ask({"all": [VALUES[a], VALUES[b]]}) is min(a, b, key=order.__getitem__)
    assert ask({"any": [VALUES[a], VALUES[b]]}) is max(a, b, key=order.__getitem__)


@pytest.mark.parametrize(
    ("bound", "value", "expected"),
    [
        ({"gt": 100}, 100, False),
        ({"gt": 100}, 101, True),
        ({"ge": 100}, 100, True),
        ({"lt": 100}, 100, False),
        ({"le": 100}, 100, True),
        ({"gt": 100, "le": 160}, 160, True),
        ({"gt": 100, "le": 160}, 161, False),
        ({"gt": 100}, None, None),
    ],
)
def test_bounds(bound: dict[str, int], value: int | None, expected: bool | None) -> None:
    assert ask({"weight_g": bound}, weight_g=value) is expected


def test_materials_are_compared_by_whole_words() -> None:
    assert ask({"material": "rubber"}, materials=frozenset({"natural rubber"})) is True
    assert ask({"material": ["wax"]}, materials=frozenset({"waxed thread"})) is False
    assert ask({"material": "wax"}, materials=frozenset()) is None


def test_without_materials_no_hazard_is_absent() -> None:
    assert ask({"hazard.lead": "confirmed"}) is False
    assert ask({"hazard.lead": "confirmed"}, materials=frozenset()) is None
    assert ask({"hazard.lead": "confirmed"}, materials=frozenset(), hazards=(("lead", "cleared"),)) is False


def test_pack_conditions_speak_of_one_pack() -> None:
    packs = (Pack("lithium_ion", state="sound"), Pack("dry", state="damaged"))
    trigger = {"pack.chemistry": "lithium_ion", "pack.state": "damaged"}
    assert [ask(trigger, number, packs=packs) for number in (0, 1)] == [False, False]
    assert ask(trigger) is False
    assert ask(trigger, materials=frozenset()) is None


def test_a_missing_fact_is_named_with_the_packs_it_concerns() -> None:
    known = Known(PieceFacts("X", packs=(Pack("lithium_ion", state="sound"),)), Trip(), RuleBook(()))
    outcome = parse({"pack.state": "sound", "pack.energy_wh": {"le": 100}}).evaluate(known, 0)
    assert (outcome.truth, outcome.missing, outcome.ways) == (
        None,
        frozenset({"pack.energy_wh"}),
        frozenset({frozenset({"pack 1"})}),
    )


@pytest.mark.parametrize(
    ("trigger", "says"),
    [
        ({}, "at least one key"),
        ([], "a condition is a mapping"),
        ({"all": []}, "needs a list"),
        ({"not": {"kind": "coat"}}, "'not' is no fact"),
        ({"colour": "red"}, "'colour' is no fact"),
        ({"pack.colour": "red"}, "'pack.colour' is no fact"),
        ({"trip.mood": "good"}, "'trip.mood' is no fact"),
        ({"hazard.": "confirmed"}, "'hazard.' is no fact"),
        ({"hazard.lead": "cleared"}, "has the states untested, suspected, confirmed only"),
        ({"weight_g": 5}, "needs a bound"),
        ({"weight_g": {"above": 5}}, "use gt, ge, lt or le"),
        ({"weight_g": {"gt": "5"}}, "and a number"),
        ({"weight_g": {}}, "at least one bound"),
        ({"kind": {"gt": 5}}, "is no number"),
        ({"kind": []}, "nor a list"),
    ],
)
def test_what_cannot_be_read_is_refused_by_name(trigger: object, says: str) -> None:
    with pytest.raises(TriggerError, match=says):
        parse(trigger)
