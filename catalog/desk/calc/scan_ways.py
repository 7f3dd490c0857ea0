"""The ways of scanning: what is asked for in which order, and what stays for the next scan."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Way:
    """One way. `slots` are asked for in order; those in `stays` are kept for the next scan."""

    name: str
    word: str
    slots: tuple[str, ...]
    stays: frozenset[str]
    prompts: Mapping[str, str]


# Opens what is scanned; nothing is moved.
OPEN = Way("open", "Open", (), frozenset(), {})
PUT = Way("put", "Put one", ("thing", "to"), frozenset(), {"thing": "Scan the thing.", "to": "Scan where it goes."})
MANY = Way(
    "many",
    "Put many",
    ("to", "thing"),
    frozenset({"to"}),
    {"to": "Scan the place to fill.", "thing": "Scan each thing you put here."},
)
EMERGENCY = Way(
    "emergency",
    "Emergency",
    ("from", "to", "thing"),
    frozenset({"from", "to"}),
    {
        "from": "Scan the place to clear.",
        "to": "Scan where everything goes.",
        "thing": "Scan each thing as it arrives.",
    },
)
WAYS: dict[str, Way] = {way.name: way for way in (OPEN, PUT, MANY, EMERGENCY)}
SLOT_WORDS = {"thing": "Thing", "to": "Goes to", "from": "Out of"}


def next_slot(way: Way, filled: Mapping[str, str]) -> str | None:
    """The first slot that is still empty, or None when a put is complete."""
    return next((slot for slot in way.slots if not filled.get(slot)), None)


def after(way: Way, filled: Mapping[str, str]) -> dict[str, str]:
    """What stays filled once a put is done."""
    return {slot: filled[slot] for slot in way.slots if slot in way.stays and filled.get(slot)}


def after_refusal(way: Way, filled: Mapping[str, str], wrong: str) -> dict[str, str]:
    """What stays filled when a put was refused: what stays anyway, and the thing if only its place was wrong."""
    kept = after(way, filled)
    if way is PUT and wrong == "to" and filled.get("thing"):
        kept["thing"] = filled["thing"]
    return kept
