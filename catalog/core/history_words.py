"""A history line as one sentence for a page. Rooms hand in how their own facts are said."""

import re
from collections.abc import Callable, Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from catalog.core.models import HistoryLine

Say = Mapping[str, Callable[[Any], str]]
# A scan that took longer to arrive waited for a signal: both times are told.
_LATE = timedelta(minutes=5)
_UNSAID: tuple[Any, ...] = (None, "", [], {})
# A fact that is gone, where "none" after its name would be read twice.
_WITHOUT = {"parent": "in no place", "place": "in no place", "home": "no home"}
_NAMES = {"parent": "in"}
_DAY = re.compile(r"^\d{4}-\d{2}-\d{2}$")
# Facts that say themselves what they are: "measure corrected: chest 105 cm" needs no "measure" again.
_BARE = frozenset(
    {"measure", "part", "picture", "match", "mark", "alteration", "treatment", "pack", "wear", "hazard", "part_return"}
)
# States that the verb itself tells: "pulled: loan state pulled" stutters.
_STATES = frozenset({"state", "loan_state", "treatment_state", "quarantine"})


def told(line: HistoryLine, say: Say | None = None) -> str:
    """ "Corrected: weight 1.4 kg (was 1.2 kg); note none (was “torn”)". Facts without a word of their own are plain."""
    facts = []
    for key, value in line.after.items():
        was = line.before.get(key)
        if value in _UNSAID and was in _UNSAID:
            continue
        if (value is False and key not in line.before) or _told_by_verb(line.verb, key, value):
            continue
        text = _name(key, line.verb) + (_said(key, value, say) if value not in _UNSAID else "none")
        if value in _UNSAID and key in _WITHOUT:
            text = _WITHOUT[key]
        if key in line.before and was not in _UNSAID and was != value:
            text += f" (was {_said(key, was, say)})"
        facts.append(text)
    verb = line.verb[:1].upper() + line.verb[1:]
    return f"{verb}: {'; '.join(facts).rstrip('.')}." if facts else f"{verb}."


def rows(lines: Iterable[HistoryLine], say: Say | None = None, hidden: Iterable[str] = ()) -> list[dict[str, Any]]:
    """Lines as `_parts/history.html` takes them; lines that tell one of the `hidden` facts are left out."""
    unseen = set(hidden)
    return [
        {
            "happened": line.happened,
            "recorded": line.recorded,
            "by": line.by_name,
            "text": told(line, say),
            "reason": line.reason,
            "late": line.client_id is not None and line.recorded - line.happened > _LATE,
        }
        for line in lines
        if not unseen & {*line.before, *line.after}
    ]


def _name(key: str, verb: str = "") -> str:
    """What the fact is called, without what the verb has said already: "label issued: P00001Q", "held: from 1 May"."""
    words = _NAMES.get(key, re.sub(r"_(mm|g|wh)$", "", key)).split("_")
    if verb and verb.casefold().startswith(words[0]):
        words = words[1:]
    return "" if key in _BARE or not words else f"{' '.join(words)} "


def _told_by_verb(verb: str, key: str, value: Any) -> bool:
    said = set(re.findall(r"[a-z]+", verb.casefold()))
    if key == "quarantine":
        return "quarantine" in verb.casefold()
    return key in _STATES and isinstance(value, str) and set(value.casefold().split()) <= said


def _said(key: str, value: Any, say: Say | None) -> str:
    if say and key in say:
        return say[key](value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return ", ".join(f"{_name(k)}{_said(k, v, say)}" for k, v in value.items() if v not in _UNSAID)
    if isinstance(value, list):
        return ", ".join(_said("", one, say) for one in value)
    if isinstance(value, str) and _DAY.match(value):
        return f"{date.fromisoformat(value):%-d %b %Y}"
    return str(value)
