"""A small invented stage for the tests of this room: one production, two roles, a few pieces."""

from dataclasses import dataclass
from datetime import date

from catalog.access.models import User
from catalog.loans import actions
from catalog.loans.models import Call
from catalog.pieces.models import Piece, Production, Role, Slot

FIRST, LAST = date(2031, 6, 10), date(2031, 6, 12)


@dataclass(frozen=True, slots=True)
class Stage:
    """What the tests stand on."""

    production: Production
    piper: Role
    coats: list[Piece]
    boots: list[Piece]

    @property
    def coat(self) -> Piece:
        return self.coats[0]


def make_stage(coats: int = 3, boots: int = 2) -> Stage:
    """Rows made directly: these tests are about loans, and need no history of recording."""
    production = Production.objects.create(code="MOOR", title="The Pipers of Moor")
    piper = Role.objects.create(production=production, code="PIP", name="Piper")
    coat_slot = Slot.objects.create(role=piper, code="coat", name="coat", kind="coat")
    boot_slot = Slot.objects.create(role=piper, code="boots", name="boots", kind="boots", order=1)
    return Stage(
        production,
        piper,
        [make_piece(production, piper, coat_slot, n) for n in range(1, coats + 1)],
        [make_piece(production, piper, boot_slot, n) for n in range(51, boots + 51)],
    )


def make_piece(production: Production, role: Role, slot: Slot, number: int) -> Piece:
    return Piece.objects.create(
        number=f"MOOR-{number:04d}", name=slot.name, kind=slot.kind, production=production, role=role, slot=slot
    )


def make_call(by: User, stage: Stage, **changes: object) -> Call:
    facts: dict[str, object] = {
        "reference": "MOOR-CALL-1",
        "title": "Pick-ups on the moor",
        "production": stage.production,
        "where": "A moor",
        "first_day": FIRST,
        "last_day": LAST,
        "load_on": date(2031, 6, 8),
        "back_on": date(2031, 6, 14),
        "received_on": date(2031, 5, 1),
    }
    return actions.take_call(by=by, **(facts | changes))  # type: ignore[arg-type]
