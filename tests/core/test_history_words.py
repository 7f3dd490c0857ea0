"""History lines as sentences."""

from typing import Any

import pytest

from catalog.core.history_words import rows, told
from catalog.core.models import HistoryLine


def line(verb: str, after: dict[str, Any], before: dict[str, Any] | None = None) -> HistoryLine:
    return HistoryLine(verb=verb, after=after, before=before or {}, by_name="bo", reason="why")


@pytest.mark.parametrize(
    ("verb", "before", "after", "sentence"),
    [
        ("label lost", {}, {}, "Label lost."),
        ("corrected", {"note": ""}, {"note": "torn"}, "Corrected: note torn."),
        ("corrected", {"note": "torn."}, {"note": ""}, "Corrected: note none (was torn.)."),
        ("quarantined", {}, {"quarantine_due": "2026-12-01"}, "Quarantined: due 1 Dec 2026."),
        ("wear decided", {}, {"wear": "wear", "limits": "", "no_close_up": False}, "Wear decided: wear."),
        ("wear decided", {"no_close_up": True}, {"no_close_up": False}, "Wear decided: no close up no (was yes)."),
        ("reported", {}, {"mark": ["tear at cuff", "stain"]}, "Reported: tear at cuff, stain."),
        ("noted", {}, {"pack": {"chemistry": "dry", "charge_percent": None}}, "Noted: chemistry dry."),
        ("quarantined", {}, {"quarantine": "open", "quarantine_due": "2026-12-01"}, "Quarantined: due 1 Dec 2026."),
        ("label issued", {}, {"label": "P00001Q"}, "Label issued: P00001Q."),
        ("hazard noted", {}, {"hazard": "lead", "hazard_state": "cleared"}, "Hazard noted: lead; state cleared."),
        ("went out", {}, {"loan": "L1", "loan_state": "out"}, "Went out: loan L1."),
        (
            "came back",
            {},
            {"loan": "L1", "loan_state": "quarantined", "part_return": "incomplete"},
            "Came back: loan L1; loan state quarantined; incomplete.",
        ),
        ("treatment started", {}, {"treatment": "freeze", "treatment_state": "started"}, "Treatment started: freeze."),
        (
            "asked for",
            {"role": "Piper", "count": 0},
            {"role": "Piper", "count": 2},
            "Asked for: role Piper; count 2 (was 0).",
        ),
        ("listed", {}, {"days": ["2026-09-22", "2026-09-23"]}, "Listed: days 22 Sep 2026, 23 Sep 2026."),
        ("valued", {}, {"value": "560", "valued_on": "2016-04-01"}, "Valued: 560; on 1 Apr 2016."),
        ("moved", {"parent": "R1"}, {"parent": None}, "Moved: in no place (was R1)."),
        ("moved", {"parent": "R1"}, {"parent": "R2"}, "Moved: in R2 (was R1)."),
        ("moved", {"place": "R1"}, {"place": None}, "Moved: in no place (was R1)."),
        ("weighed", {}, {"weight_g": 900}, "Weighed: weight 900."),
    ],
)
def test_a_line_is_told(verb: str, before: dict[str, Any], after: dict[str, Any], sentence: str) -> None:
    assert told(line(verb, after, before)) == sentence


def test_a_room_says_its_own_facts() -> None:
    assert told(line("weighed", {"weight_g": 900}, {"weight_g": 800}), {"weight_g": lambda g: f"{g} g"}) == (
        "Weighed: weight 900 g (was 800 g)."
    )


def test_hidden_facts_hide_their_line() -> None:
    lines = [line("valued", {"value": "1"}), line("valued", {}, {"value": "1"}), line("moved", {"place": "K7"})]
    assert [row["text"] for row in rows(lines, hidden=["value"])] == ["Moved: place K7."]
    assert rows(lines)[0]["by"] == "bo"
