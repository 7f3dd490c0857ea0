"""A small invented stage for the tests of this room: one production, two roles, a few pieces."""

from dataclasses import dataclass
from datetime import date

from catalog.access.models import User
from catalog.care import actions as care
from catalog.core import clock
from catalog.loans import actions
from catalog.loans.models import Call, Hold
from catalog.pieces.models import Material, Part, Piece, Production, Role, Slot
from catalog.storage import actions as storage
from catalog.storage.models import Place

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
        "received_on": date(2026, 5, 1),
    }
    return actions.take_call(by=by, **(facts | changes))  # type: ignore[arg-type]


def decide(by: User, piece: Piece, decision: str = "wear", **more: object) -> None:
    """What is in the piece is known, and somebody decided whether it may be worn."""
    piece.materials.add(Material.objects.get_or_create(name="felted linen", defaults={"family": "cloth"})[0])
    facts = {"decided_on": clock.today(), "decided_by_name": "archivist"} | more
    care.decide_wear(by=by, piece=piece, decision=decision, **facts)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class Store:
    """Two shelves in walking order, a quarantine bay and a trunk."""

    low: Place
    high: Place
    trunk: Place
    quarantine: Place


def make_store(by: User, stage: Stage) -> Store:
    """The coats hang on the high shelf, the boots lie in the trunk on the low one; each boot is two halves."""
    room = storage.add_place(by=by, code="R1", name="Long room", kind="room")
    low = storage.add_place(by=by, code="R1-A", name="low bay", kind="bay", parent=room, order=2)
    high = storage.add_place(by=by, code="R1-B", name="high bay", kind="bay", parent=room, order=1, needs_steps=True)
    trunk = storage.add_place(by=by, code="TR-1", name="boot trunk", kind="trunk", parent=low, home=low)
    quarantine = storage.add_place(by=by, code="QU", name="cold room", kind="quarantine")
    for piece in stage.coats:
        storage.receive_piece(by=by, piece=piece, home=high)
    for piece in stage.boots:
        storage.receive_piece(by=by, piece=piece, home=trunk)
        for letter, side in (("L", "left"), ("R", "right")):
            Part.objects.create(piece=piece, letter=letter, name=f"{side} boot", side=side)
    return Store(low, high, trunk, quarantine)


def make_firm(by: User, pieces: list[Piece], call: Call | None = None, reference: str = "JOB-1") -> Hold:
    """A firm hold over the days of the stage's call."""
    return actions.hold(
        by=by, reference=reference, for_whom="Pick-up unit", pieces=pieces, use_from=date(2031, 6, 8),
        use_to=date(2031, 6, 14), strength="firm", confirmed_by="A. Producer", call=call,
    )  # fmt: skip
