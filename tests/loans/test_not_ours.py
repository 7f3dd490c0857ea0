"""Loans without performers from end to end; and what is hired in or a performer's own goes back to its owner."""

from collections.abc import Callable
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.core.history import lines_of
from catalog.loans import actions
from catalog.loans.models import Loan, LoanLine
from catalog.loans.owner_actions import give_back
from catalog.pieces.models import Piece
from catalog.storage.models import Standing
from tests.cast import Cast
from tests.loans.world import Stage, Store, make_call, make_firm
from tests.reading import text_of

AsUser = Callable[[Any], Client]


def sent(cast: Cast, stage: Stage, purpose: str) -> Loan:
    """A call of this purpose with nobody to dress: held, pulled and out."""
    call = make_call(cast.production, stage, purpose=purpose)
    held = make_firm(cast.production, stage.coats[:2], call)
    loan = actions.start_loan(by=cast.archivist, hold=held)
    for coat in stage.coats[:2]:
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number=coat.number)
    return actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver")


def line_of(loan: Loan, piece: Piece) -> LoanLine:
    return loan.lines.select_related("piece", "loan").get(piece=piece)


@pytest.mark.parametrize("purpose", ["exhibition", "study", "stills", "reshoot"])
def test_no_performer_is_needed_from_hold_to_closed_call(
    cast: Cast, stage: Stage, store: Store, clock: Any, as_user: AsUser, purpose: str
) -> None:
    loan = sent(cast, stage, purpose)
    client = as_user(cast.archivist)
    page = text_of(client.get(reverse("loans:loan", args=[loan.reference])))
    assert ("/on-set/" in page) == (purpose in {"stills", "reshoot"})
    assert client.get(reverse("desk:call", args=["MOOR-CALL-1"])).status_code == 200
    clock.move_to("2031-06-14 08:00Z")
    for coat in stage.coats[:2]:
        actions.return_piece(by=cast.archivist, loan=loan, code_or_number=coat.number, result="as sent")
    clock.move_to("2031-06-29 08:00Z")
    for coat in stage.coats[:2]:
        actions.release_line(by=cast.archivist, line=line_of(loan, coat))
        actions.put_away(by=cast.archivist, line=line_of(loan, coat))
    actions.close_loan(by=cast.archivist, loan=loan)
    call = loan.call
    assert call is not None
    call.refresh_from_db()
    assert actions.close_call(by=cast.production, call=call).state == "closed"
    assert not call.wearers.exists()
    assert not call.needs.exists()


@pytest.fixture
def home(cast: Cast, stage: Stage, store: Store, clock: Any) -> Loan:
    """Two coats are back in quarantine: one ours, the other hired in."""
    Piece.objects.filter(pk=stage.coats[1].pk).update(owner="hired in", owner_name="Fen and Daughters")
    loan = sent(cast, stage, "exhibition")
    for coat in stage.coats[:2]:
        actions.return_piece(by=cast.archivist, loan=loan, code_or_number=coat.number, result="as sent")
    return loan


def test_it_is_shown_apart_and_goes_back(cast: Cast, stage: Stage, home: Loan, as_user: AsUser) -> None:
    client, number = as_user(cast.archivist), stage.coats[1].number
    for address in (reverse("loans:loan", args=[home.reference]), reverse("loans:hold", args=["JOB-1"])):
        page = text_of(client.get(address))
        assert "Not ours" in page
        assert "hired in, Fen and Daughters" in page
    address = reverse("loans:put_away", args=[home.reference])
    assert "it goes back to its owner, Fen and Daughters." in text_of(client.get(address))
    answer = client.post(address, {"owner": number}, follow=True)
    assert f"{number} went back to its owner." in text_of(answer)
    line = line_of(home, stage.coats[1])
    assert (line.state, Standing.objects.get(piece=line.piece).state) == ("went back", "out")
    told = lines_of(line.piece.subject)[0]
    assert told.verb == "went back to its owner"
    assert "Fen" not in str((told.after, told.reason))
    assert "back with its owner" in text_of(client.get(reverse("loans:loan", args=[home.reference])))
    # Ours still waits; then the loan closes.
    with pytest.raises(WrongState, match="MOOR-0001 is in quarantine"):
        actions.close_loan(by=cast.archivist, loan=home)
    actions.release_line(by=cast.archivist, line=line_of(home, stage.coat), findings="clean")
    actions.put_away(by=cast.archivist, line=line_of(home, stage.coat))
    assert actions.close_loan(by=cast.archivist, loan=home).state == "closed"


def test_each_goes_its_own_way(cast: Cast, stage: Stage, home: Loan) -> None:
    with pytest.raises(Refused, match="MOOR-0001 is ours: put it away"):
        give_back(by=cast.archivist, line=line_of(home, stage.coat))
    with pytest.raises(Refused, match="MOOR-0002 is hired in: it goes back to its owner"):
        actions.put_away(by=cast.archivist, line=line_of(home, stage.coats[1]))
    with pytest.raises(NotAllowed):
        give_back(by=cast.set_costumer, line=line_of(home, stage.coats[1]))
    give_back(by=cast.archivist, line=line_of(home, stage.coats[1]))
    with pytest.raises(WrongState, match="back with its owner"):
        give_back(by=cast.archivist, line=line_of(home, stage.coats[1]))


def test_putting_all_away_leaves_what_is_not_ours(cast: Cast, stage: Stage, home: Loan, as_user: AsUser) -> None:
    with time_machine.travel("2031-06-29 08:00Z", tick=False):
        client = as_user(cast.archivist)
        client.post(reverse("loans:put_away", args=[home.reference]))
    assert [line_of(home, coat).state for coat in stage.coats[:2]] == ["put away", "quarantined"]


def test_a_performers_name_is_not_on_the_page(cast: Cast, stage: Stage, home: Loan, as_user: AsUser) -> None:
    Piece.objects.filter(pk=stage.coats[1].pk).update(owner="performer's own", owner_name="Perpetua Quillfeather")
    client = as_user(cast.archivist)
    for name, args in (("loan", [home.reference]), ("put_away", [home.reference]), ("hold", ["JOB-1"])):
        page = text_of(client.get(reverse(f"loans:{name}", args=args)))
        assert "a performer&#x27;s own" in page
        assert "Perpetua" not in page
