"""Two actions that tell of the same pieces never wait for each other in a ring (core/locks.py has the order).

On PostgreSQL a ring ends with "deadlock detected" for one of the two; the moment is made on purpose here: the second
action begins when the first has written its first line and has more to do.
"""

import threading
import time
from collections.abc import Callable
from typing import Any

import pytest
from django.db import OperationalError, connection, transaction
from django.http import HttpRequest
from django.test import Client

from catalog.core.history import faults
from catalog.core.locks import lock_rows
from catalog.core.middleware import BUSY, SentenceMiddleware
from catalog.loans import actions, hold_actions, home_actions, loan_actions
from catalog.loans.models import Hold, Loan
from catalog.pieces.models import Piece
from catalog.storage import actions as storage
from catalog.storage.models import Standing
from tests.cast import Cast
from tests.loans.test_hold_race import race
from tests.loans.world import Stage, Store, make_firm

PAUSE_S = 0.4


def halfway(monkeypatch: pytest.MonkeyPatch, owner: Any, name: str) -> Callable[[], bool]:
    """Stop the first caller of `owner.name` there for a moment; gives what the other runner waits for."""
    reached, real = threading.Event(), getattr(owner, name)

    def paused(**facts: Any) -> Any:
        if not reached.is_set():
            reached.set()
            time.sleep(PAUSE_S)
        return real(**facts)

    monkeypatch.setattr(owner, name, paused)
    return lambda: reached.wait(timeout=20)


@pytest.mark.django_db(transaction=True)
def test_a_return_without_a_part_and_a_move_of_the_same_piece(
    monkeypatch: pytest.MonkeyPatch, cast: Cast, stage: Stage, store: Store, out: Loan
) -> None:
    boots, wait = stage.boots[0], halfway(monkeypatch, home_actions.storage, "bring_back")

    def home() -> object:
        return actions.return_piece(
            by=cast.set_costumer,
            loan=out,
            code_or_number=boots.number,
            result="incomplete",
            note="one",
            parts_back=["L"],
        )

    def move() -> object:
        assert wait()
        return storage.move_piece(by=cast.archivist, piece=boots, to=store.quarantine)

    told = race([home, move])
    assert [one for one in told if isinstance(one, BaseException)] == []
    assert Standing.objects.get(piece=boots).place == store.quarantine
    assert list(faults()) == []


@pytest.mark.django_db(transaction=True)
def test_a_loan_that_leaves_one_behind_and_a_pencil_on_the_same_pieces(
    monkeypatch: pytest.MonkeyPatch, cast: Cast, stage: Stage, loan: Loan
) -> None:
    for line in loan.lines.select_related("piece"):
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number=line.piece.number)
    wait = halfway(monkeypatch, loan_actions.storage, "send_out")
    last = stage.coats[1]

    def leave() -> object:
        return actions.send_loan(
            by=cast.archivist, loan=loan, taken_by="B. Driver", leave_behind=[last.number], reason="torn lining"
        )

    def pencil() -> Hold:
        assert wait()
        return actions.hold(
            by=cast.production, reference="JOB-9", for_whom="Stills", pieces=[stage.coat, last],
            use_from=loan.hold.use_from, use_to=loan.hold.use_to, strength="pencil",
        )  # fmt: skip

    told = race([leave, pencil])
    assert [one for one in told if isinstance(one, BaseException)] == []
    assert list(faults()) == []


@pytest.mark.django_db(transaction=True)
def test_a_firm_hold_that_ends_its_calls_pencil_and_a_release_of_that_pencil(
    monkeypatch: pytest.MonkeyPatch, cast: Cast, stage: Stage, call: Any, store: Store
) -> None:
    days = {"use_from": call.first_day, "use_to": call.last_day}
    pencil = actions.hold(
        by=cast.production, reference="P-1", for_whom="Unit", pieces=stage.coats, strength="pencil", call=call, **days
    )

    wait = halfway(monkeypatch, hold_actions, "let_go")

    def firm() -> Hold:
        assert wait()
        return make_firm(cast.production, stage.coats, call)

    def release() -> Hold:
        return actions.release_hold(by=cast.production, hold=pencil, reason="not needed")

    told = race([release, firm])
    assert [one for one in told if isinstance(one, BaseException)] == []
    assert list(faults()) == []


def test_rows_are_held_inside_a_transaction_only(transactional_db: None) -> None:
    with pytest.raises(RuntimeError, match="inside a transaction"):
        lock_rows(Piece.objects.all())
    with transaction.atomic():
        lock_rows(Piece.objects.all())


@pytest.mark.django_db
def test_a_busy_database_is_told_in_a_sentence(rf: Any) -> None:
    keeper = SentenceMiddleware(lambda request: pytest.fail("not asked"))
    request: HttpRequest = rf.get("/")
    request.user = Client().get("/").wsgi_request.user
    page = keeper.process_exception(request, OperationalError("database is locked"))
    assert page is not None
    assert page.status_code == 503
    assert BUSY in page.content.decode()  # type: ignore[attr-defined]
    assert keeper.process_exception(request, OperationalError("no such table: x")) is None
    assert connection.in_atomic_block
