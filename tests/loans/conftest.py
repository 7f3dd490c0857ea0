"""The stage of this room's tests: a store, a call with two performers, and a loan to be pulled."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine

from catalog.loans import actions
from catalog.loans.models import Call, Loan
from tests.cast import Cast
from tests.loans.world import Stage, Store, decide, make_call, make_firm, make_stage, make_store


@pytest.fixture
def clock() -> Iterator[Any]:
    with time_machine.travel("2031-06-07 08:00Z", tick=False) as travel:
        yield travel


@pytest.fixture
def stage(db: None) -> Stage:
    return make_stage()


@pytest.fixture
def store(clock: Any, cast: Cast, stage: Stage) -> Store:
    return make_store(cast.archivist, stage)


@pytest.fixture
def call(clock: Any, cast: Cast, stage: Stage) -> Call:
    call = make_call(cast.production, stage)
    actions.set_need(by=cast.production, call=call, role=stage.piper, count=2)
    actions.add_wearer(by=cast.production, call=call, number="7", name="Perpetua Quillfeather")
    return call


@pytest.fixture
def loan(cast: Cast, stage: Stage, store: Store, call: Call) -> Loan:
    held = make_firm(cast.production, [*stage.coats[:2], stage.boots[0]], call)
    return actions.start_loan(by=cast.archivist, hold=held)


@pytest.fixture
def out(cast: Cast, loan: Loan) -> Loan:
    for line in loan.lines.select_related("piece"):
        decide(cast.archivist, line.piece)
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number=line.piece.number)
    return actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver")
