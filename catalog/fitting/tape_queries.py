"""The tape to take next for a performer, from the pieces that the call can use. Nothing in it tells a size."""

from collections.abc import Sequence
from dataclasses import dataclass

from catalog.fitting.body_queries import person_of
from catalog.fitting.calc.body import POINT_WORDS, POINTS
from catalog.fitting.calc.joint import Rack, rack_of
from catalog.fitting.calc.next_tape import NextTape
from catalog.fitting.calc.next_tape import next_tape as worked_out
from catalog.fitting.problem_queries import Bands, candidate
from catalog.fitting.queries import slots_of
from catalog.fitting.stock_queries import question_of, stock_of
from catalog.loans.models import Call, Wearer


@dataclass(frozen=True, slots=True)
class Opened:
    """A slot's pieces that are only possible now, and how many of them the tape may be expected to settle."""

    slot: str
    open: int
    settles: float


@dataclass(frozen=True, slots=True)
class TapeAdvice:
    """The tape that tells most. `words` name it; `slots` are those with an open piece, the most settled first."""

    point: str
    words: str
    open: int
    settles: int
    slots: tuple[Opened, ...]

    @property
    def of_slots(self) -> str:
        """The slots in which it settles most, two at most: "jacket 3 of 5, breeches 1 of 4"."""
        told = [slot for slot in self.slots if round(slot.settles)][:2]
        return ", ".join(f"{slot.slot} {round(slot.settles)} of {slot.open}" for slot in told)


@dataclass(frozen=True, slots=True)
class Rail:
    """The call's usable pieces as fitting asks them, with each one's slot; read once for all its performers."""

    rack: Rack
    slots: tuple[str, ...]


def rail_of(call: Call) -> Rail:
    """The usable pieces of the roles that the call asks for."""
    roles = [need.role for need in call.needs.select_related("role")]
    slots = slots_of(roles)
    bands, words = Bands(slots), {slot.pk: slot.name for slot in slots}
    rows = [row.piece for row in stock_of(roles, question_of(call)) if row.usable]
    found = [candidate(piece, bands) for piece in rows]
    names = tuple(words.get(piece.slot_id or 0, "") for piece in rows)
    return Rail(rack_of([one.ranges if one.bands is not None else None for one in found]), names)


def next_tape(wearer: Wearer, rail: Rail) -> TapeAdvice | None:
    """What to tape next on this performer; None when no tape would tell anything more about these pieces.

    Takes about a tenth of a second: ask it for the one performer who is being taped, not for a whole list.
    """
    found = worked_out(person_of(wearer), rail.rack, POINTS)
    if not found.gains:
        return None
    best = found.gains[0]
    return TapeAdvice(
        best.point, POINT_WORDS[best.point], found.open_now, round(best.settled), _by_slot(found, rail.slots)
    )


def _by_slot(found: NextTape, slots: Sequence[str]) -> tuple[Opened, ...]:
    counted: dict[str, tuple[int, float]] = {}
    for slot, is_open, settles in zip(slots, found.is_open, found.gains[0].settles, strict=True):
        if is_open:
            number, total = counted.get(slot, (0, 0.0))
            counted[slot] = number + 1, total + settles
    told = [Opened(slot, number, total) for slot, (number, total) in counted.items()]
    return tuple(sorted(told, key=lambda slot: (-slot.settles, slot.slot)))
