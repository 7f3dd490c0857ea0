"""A mill with one role, one slot, three smocks and a call for two. Rows are made by the rooms' own actions."""

from dataclasses import dataclass
from datetime import date
from typing import Any

import pytest

from catalog.care import actions as care
from catalog.fitting import actions
from catalog.fitting.stock_queries import Cell, question_of, stock_of
from catalog.loans import actions as loans
from catalog.loans.models import Call, Wearer
from catalog.pieces import actions as pieces
from catalog.pieces.models import Look, Piece, Production, Role, Slot
from catalog.storage import actions as storage
from catalog.storage.models import Place
from tests.cast import Cast

TODAY = date(2031, 5, 5)


@dataclass(frozen=True, slots=True)
class Mill:
    """One role with one slot, three smocks of growing chest, a call for two."""

    production: Production
    role: Role
    slot: Slot
    smocks: list[Piece]
    place: Place
    call: Call
    cast: Cast
    clean: Look
    dusty: Look


@pytest.fixture
def mill(cast: Cast, time_machine: Any) -> Mill:
    time_machine.move_to(TODAY)
    by = cast.archivist
    production = pieces.add_production(by=by, code="MILL", title="The Miller's Year")
    clean = pieces.add_look(by=by, production=production, name="clean")
    dusty = pieces.add_look(by=by, production=production, name="dusty")
    role = pieces.add_role(by=by, production=production, code="HAND", name="Mill hand")
    slot = pieces.add_slot(by=by, role=role, code="smock", name="smock", kind="shirt", make_days=5)
    place = storage.add_place(by=by, code="LOFT", name="Loft", kind="room")
    actions.add_band(by=by, slot=slot, body_point="chest", garment_point="chest", min_ease=40, max_ease=200)
    smocks = [_smock(by, production, role, slot, place, chest) for chest in (1000, 1100, 1200)]
    call = loans.take_call(
        by=cast.production, reference="MILL-1", title="Harvest pick-ups", production=production, where="a barn",
        first_day=date(2031, 6, 10), last_day=date(2031, 6, 11), load_on=date(2031, 6, 9), back_on=date(2031, 6, 12),
        received_on=TODAY,
    )  # fmt: skip
    loans.set_need(by=cast.production, call=call, role=role, count=2)
    return Mill(production, role, slot, smocks, place, call, cast, clean, dusty)


def _smock(by: Any, production: Production, role: Role, slot: Slot, place: Place, chest: int) -> Piece:
    number = f"MILL-{chest}"
    piece = pieces.record_piece(
        by=by, number=number, name="smock", kind="shirt", production=production, role=role, slot=slot,
        materials=("linen",),
    )  # fmt: skip
    pieces.set_measure(by=by, piece=piece, point="chest", value_mm=chest)
    storage.receive_piece(by=by, piece=piece, home=place)
    care.decide_wear(by=by, piece=piece, decision="wear", decided_on=TODAY, decided_by_name="keeper")
    return piece


def wearer(mill: Mill, number: str, *, chest: int | None = None, minor: bool = False, **card: int) -> Wearer:
    found = loans.add_wearer(
        by=mill.cast.production, call=mill.call, number=number, name=f"Person {number}", minor=minor
    )
    lead, consent = mill.cast.wardrobe_lead, "mother, 1 May 2031" if minor else ""
    if card:
        actions.add_sheet(by=lead, wearer=found, layer="card", guardian_consent=consent, **card)
    if chest:
        actions.add_sheet(
            by=lead, wearer=found, layer="measured", values={"chest": chest}, consent=True, guardian_consent=consent
        )
    return found


def cells(mill: Mill, **asked: Any) -> dict[str, Cell]:
    question = question_of(mill.call, **asked)
    return {row.piece.number: row.cell for row in stock_of([mill.role], question)}
