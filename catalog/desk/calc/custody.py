"""Which history lines of a piece are sightings: somebody had it in hand or before the eyes. Pure.

Only what is listed here counts, so that a new kind of line proves nothing by being new. A line that corrects another
one is told beside it, never instead of it.
"""

from collections.abc import Mapping

# Somebody saw the piece where it lay, or had it in hand, on the day that the line names.
SEEN = frozenset([
    "received", "moved", "found", "seen", "counted", "sent out", "brought back", "taken to treatment", "pulled",
    "put back", "went out", "signed out", "signed in", "came back", "put away", "part came home",
    "part known again", "condition reported",
    "label bound", "stood in", "went back to its owner",
])  # fmt: skip
# Done with the piece in hand, but often written down later, on a day of its own: it names a person, and proves no day.
BY_HAND = SEEN | frozenset([
    "measured", "measure corrected", "altered", "alteration undone", "quarantined", "released from quarantine",
])  # fmt: skip
# Nobody saw it: where it ought to have been it was not, or a sighting was taken back.
NOT_SEEN = frozenset(["not found", "did not come back", "part missing", "scan undone", "sighting taken back"])
# What a line of either sort may tell an insurer; a value, a body or a hold is nobody's business there.
_TOLD = ("place", "seen", "state", "loan", "part", "missing")


def is_sighting(verb: str, after: Mapping[str, object] | None = None) -> bool:
    """Whether the line says that somebody saw the piece; one that was listed as not found was not seen."""
    return verb in SEEN and (after or {}).get("state") != "not found"


def is_by_hand(verb: str) -> bool:
    """Whether whoever is named had the piece in hand."""
    return verb in BY_HAND


def is_custody(verb: str) -> bool:
    """Whether the line belongs in a statement of who had the piece and when."""
    return verb in SEEN or verb in NOT_SEEN


def custody_words(verb: str, after: Mapping[str, object]) -> str:
    """ "Moved: place B2-1": the verb with the few facts that place the piece."""
    told = [f"{key} {after[key]}" for key in _TOLD if isinstance(after.get(key), str) and after[key]]
    return verb[:1].upper() + verb[1:] + (f": {', '.join(told)}" if told else "")
