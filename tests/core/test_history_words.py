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
        ("quarantined", {}, {"quarantine_due": "2026-12-01"}, "Quarantined: quarantine due 1 Dec 2026."),
        ("wear decided", {}, {"wear": "wear", "limits": "", "no_close_up": False}, "Wear decided: wear."),
        ("wear decided", {"no_close_up": True}, {"no_close_up": False}, "Wear decided: no close up no (was yes)."),
        ("reported", {}, {"mark": ["tear at cuff", "stain"]}, "Reported: tear at cuff, stain."),
        ("noted", {}, {"pack": {"chemistry": "dry", "charge_percent": None}}, "Noted: chemistry dry."),
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
