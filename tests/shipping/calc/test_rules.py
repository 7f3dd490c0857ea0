"""Rule rows as data: what is taken in, what is refused, and what the shipped rows owe a reader."""

from datetime import date
from typing import Any

import pytest

from catalog.shipping.calc.rules import (
    CONFIDENCE,
    RuleBook,
    RuleError,
    rule_book_from_json,
    rule_from_json,
    rule_to_json,
)
from catalog.shipping.calc.trigger import facts_of
from catalog.shipping.calc.verdicts import Verdict
from tests.shipping.calc.shipped import BOOK, RAW

ROW: dict[str, Any] = RAW["rules"][0]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"verdict": "perhaps"}, "verdict: 'perhaps' is none of may, conditions"),
        ({"confidence": "X"}, "confidence: 'X' is none of"),
        ({"modes": ["camel"]}, "modes: 'camel' is none of road"),
        ({"modes": []}, "modes: at least one"),
        ({"modes": "road"}, "modes: has to be a list"),
        ({"papers": "one"}, "papers: has to be a list"),
        ({"version": 0}, "version: has to be a whole number"),
        ({"version": True}, "version: has to be a whole number"),
        ({"reason": " "}, "reason: is empty"),
        ({"source": ""}, "source: is empty"),
        ({"edition": 3}, "edition: has to be text"),
        ({"verdict": "conditions", "condition": ""}, "condition: the verdict is 'conditions'"),
        ({"checked_on": "last week"}, "checked_on: 'last week' is no date"),
        ({"trigger": {"pack.colour": "red"}}, "trigger: 'pack.colour' is no fact"),
        ({"colour": "red"}, "colour: is no field of a rule"),
    ],
)
def test_a_bad_row_is_refused_and_row_and_field_are_named(change: dict[str, Any], says: str) -> None:
    with pytest.raises(RuleError, match=f"Rule {ROW['code']}, {says}"):
        rule_from_json(ROW | change)


def test_a_missing_field_is_named() -> None:
    with pytest.raises(RuleError, match="source: is missing"):
        rule_from_json({name: value for name, value in ROW.items() if name != "source"})


def test_the_same_code_twice_is_refused() -> None:
    with pytest.raises(RuleError, match="used by two rows"):
        RuleBook((BOOK.rules[0], BOOK.rules[0]))


@pytest.mark.parametrize("row", RAW["rules"], ids=lambda row: row["code"])
def test_rows_come_back_as_they_were_written(row: dict[str, Any]) -> None:
    assert rule_to_json(rule_from_json(row)) == row


def test_the_citation_says_how_sure_and_when_checked() -> None:
    sure = rule_from_json(ROW | {"confidence": "M", "checked_on": None}).citation
    assert "from memory; the source has not been seen" in sure
    assert "not checked" in sure
    assert rule_from_json(ROW | {"checked_on": "2026-07-27"}).checked_on == date(2026, 7, 27)
    assert "checked 2026-07-27" in rule_from_json(ROW | {"checked_on": "2026-07-27"}).citation


@pytest.mark.parametrize("rule", BOOK.rules, ids=lambda rule: rule.code)
def test_shipped_rows_owe_a_sentence_a_source_and_the_way_out(rule: Any) -> None:
    assert rule.reason.endswith(".")
    assert rule.confidence in CONFIDENCE
    assert rule.edition or rule.from_memory
    if rule.verdict in {Verdict.CONDITIONS, Verdict.SPECIALIST}:
        assert rule.condition.endswith(".")


@pytest.mark.parametrize("rule", BOOK.rules, ids=lambda rule: rule.code)
def test_whatever_a_shipped_row_may_wait_for_has_a_worded_question(rule: Any) -> None:
    waits_for = {fact for fact in facts_of(rule.node) if not fact.startswith("hazard.")}
    if rule.verdict is Verdict.UNKNOWN:
        waits_for |= {fact for fact in facts_of(rule.node) if fact.startswith("hazard.")}
    # The decision is never missing, only not taken; what keeps a piece back stands in our own books.
    never_missing = {"wear_decision", "pest_work_open", "in_quarantine", "not_found", "held_elsewhere"}
    assert waits_for - never_missing <= set(BOOK.questions)


def test_no_shipped_row_from_memory_says_may() -> None:
    memory = [rule for rule in BOOK.rules if rule.from_memory]
    assert memory
    assert all(rule.verdict is not Verdict.MAY for rule in memory)


def test_an_unworded_question_still_asks() -> None:
    question = rule_book_from_json({"rules": [ROW]}).question("pack.energy_wh")
    assert question.text == "What is known about pack energy wh?"
    assert question.who


@pytest.mark.parametrize(
    ("kind", "longest"),
    [("coat", 900), ("pea coat", 900), ("hand lamp", 450), ("lamp post", None), ("halberd", None), ("", None)],
)
def test_only_the_head_word_of_a_kind_decides_its_usual_length(kind: str, longest: int | None) -> None:
    assert BOOK.usual_longest(kind) == longest
