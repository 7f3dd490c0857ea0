"""Whether a piece may be held firmly, and what one must know of it. Pure; values in, sentences out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

# Decisions that forbid wear for good. What is merely not decided or not tested is told, and may still be cleared up.
AGAINST_WEAR = {
    "reference only": "it was decided to keep it for reference only",
    "not wearable": "it was decided that it is not wearable",
}
SHOWN = 3


@dataclass(frozen=True, slots=True)
class Candidate:
    """A piece that somebody wants to hold: is it there, and what was decided about wearing it."""

    number: str
    missing: bool = False
    last_seen: date | None = None
    decision: str = ""
    wear_why: tuple[str, ...] = ()

    @property
    def where_lost(self) -> str:
        """That it is missing, and since when."""
        seen = f"last seen {self.last_seen:%-d %b %Y}" if self.last_seen else "never seen since it was recorded"
        return f"missing, {seen}"


@dataclass(frozen=True, slots=True)
class Objection:
    """Why a firm hold of one piece is refused, and what to do instead."""

    number: str
    reason: str
    way_out: str

    @property
    def sentence(self) -> str:
        """The piece, the reason and the way out."""
        return f"{self.number} cannot be held firmly: {self.reason}. {self.way_out}"


def objection(candidate: Candidate, *, worn: bool) -> Objection | None:
    """What stands against a firm hold. `worn`: the pieces are held to be worn, not to be shown or studied."""
    if candidate.missing:
        return Objection(
            candidate.number,
            f"it is {candidate.where_lost}",
            "Pencil it until it is recorded as found, or hold another piece.",
        )
    if worn and candidate.decision in AGAINST_WEAR:
        return Objection(
            candidate.number,
            AGAINST_WEAR[candidate.decision],
            "Hold another piece; for an exhibition or for study it may be held.",
        )
    return None


def notes(candidate: Candidate, *, worn: bool) -> tuple[str, ...]:
    """What to say plainly of a piece in a hold: that it is missing, or that it may not be worn as things stand."""
    said = []
    if candidate.missing:
        said.append(f"{candidate.number} is {candidate.where_lost}. It cannot be pulled before it is found.")
    if worn and candidate.wear_why:
        said.append(f"{candidate.number} may not be worn as things stand. {' '.join(candidate.wear_why)}")
    elif candidate.decision in AGAINST_WEAR:
        said.append(f"{candidate.number} is to be shown or studied, not worn: {AGAINST_WEAR[candidate.decision]}.")
    return tuple(said)


def refusal(found: Sequence[Objection], instead: Iterable[str] = ()) -> str:
    """All objections in a few sentences, the first ones in full, with what is free instead."""
    said = [one.sentence for one in found[:SHOWN]]
    if more := found[SHOWN:]:
        numbers = ", ".join(one.number for one in more[:8]) + (f" and {len(more) - 8} more" if len(more) > 8 else "")
        said.append(f"The same or a like reason stands against {numbers}.")
    free = list(instead)
    if free:
        others = f" and {len(free) - 4} more" if len(free) > 4 else ""
        said.append(f"Free on these days instead: {', '.join(free[:4])}{others}.")
    return " ".join(said)
