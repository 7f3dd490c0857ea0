"""The pull and the return on a phone, and what axe finds on the room's pages at both widths."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from playwright.sync_api import expect

from catalog.loans import actions
from catalog.loans.models import Loan
from tests.cast import Cast, make_cast
from tests.loans.world import Stage, make_call, make_firm, make_stage, make_store

PAGES = [
    "/calls/", "/take-a-call/", "/calls/MOOR-CALL-1/", "/calls/MOOR-CALL-1/how-many/", "/calls/MOOR-CALL-1/performers/",
    "/holds/", "/holds/JOB-1/", "/holds/PEN-1/", "/holds/PEN-1/firm-up/", "/holds/JOB-1/release/", "/hold-pieces/",
    "/loans/", "/loans/MOOR-CALL-1-L1/", "/loans/MOOR-CALL-1-L1/pull/", "/loans/MOOR-CALL-1-L1/send/",
    "/loans/MOOR-CALL-1-L2/on-set/", "/loans/MOOR-CALL-1-L2/return/", "/loans/MOOR-CALL-1-L2/return/?code=MOOR-0052",
    "/loans/MOOR-CALL-1-L2/put-away/", "/loans/MOOR-CALL-1-L2/list/",
]  # fmt: skip


@pytest.fixture(autouse=True)
def _on_the_day() -> Iterator[None]:
    with time_machine.travel("2031-06-08 08:00Z", tick=True):
        yield


@pytest.fixture
def people(transactional_db: None) -> Cast:
    return make_cast()


@pytest.fixture
def two_loans(people: Cast) -> tuple[Stage, Loan]:
    """One loan to be pulled, one that is out with a coat back in quarantine; and a pencil that clashes."""
    stage = make_stage()
    make_store(people.archivist, stage)
    call = make_call(people.production, stage)
    actions.set_need(by=people.production, call=call, role=stage.piper, count=2)
    actions.add_wearer(by=people.production, call=call, number="7", name="Perpetua Quillfeather")
    first = actions.start_loan(
        by=people.archivist, hold=make_firm(people.production, [stage.coats[0], stage.boots[0]], call)
    )
    second = actions.start_loan(
        by=people.archivist, hold=make_firm(people.production, [*stage.coats[1:], stage.boots[1]], call, "JOB-2")
    )
    for number in ("MOOR-0002", "MOOR-0003", "MOOR-0052"):
        actions.pull_piece(by=people.archivist, loan=second, code_or_number=number)
    actions.send_loan(by=people.archivist, loan=second, taken_by="B. Driver")
    actions.return_piece(by=people.archivist, loan=second, code_or_number="MOOR-0003", result="changed", note="torn")
    actions.hold(
        by=people.production, reference="PEN-1", for_whom="Stills", pieces=stage.coats, use_from=call.first_day,
        use_to=call.last_day, strength="pencil",
    )  # fmt: skip
    return stage, first


@pytest.mark.parametrize("width", ["page"])  # the crawl of tests/browser/test_axe.py looks at them on a phone
def test_axe_finds_nothing(request: Any, width: str, people: Cast, two_loans: Any, enter: Any, faults: Any) -> None:
    window = request.getfixturevalue(width)
    enter(window, people.archivist)
    found: list[str] = []
    for address in PAGES:
        answer = window.goto(address)
        assert answer.status == 200, address
        found += faults(window)
        sideways = window.evaluate("document.documentElement.scrollWidth - innerWidth")
        if sideways > 0:
            found.append(f"{address} is {sideways} px too wide")
    assert found == []


def test_a_pull_by_scanner_on_a_phone(people: Cast, two_loans: tuple[Stage, Loan], phone: Any, enter: Any) -> None:
    """A scanner types and ends in Enter; scans follow each other without a touch, and a wrong one is told at once."""
    _, loan = two_loans
    enter(phone, people.archivist)
    phone.goto(f"/loans/{loan.reference}/pull/")
    for code, answer in (
        ("MOOR-0002", "This is MOOR-0002"),
        ("MOOR-0001", "MOOR-0001 coat: taken."),
        ("MOOR-0051", "MOOR-0051 boots: taken."),
    ):
        expect(phone.locator("input:focus")).to_have_count(1)
        phone.keyboard.type(code)
        phone.keyboard.press("Enter")
        expect(phone.locator("[data-sign-now]")).to_contain_text(answer)
    assert loan.lines.filter(state="pulled").count() == 2
