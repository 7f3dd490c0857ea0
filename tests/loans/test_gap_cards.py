"""Gap cards, read back from the printed page."""

from typing import Any

import pytest
import zxingcpp

from catalog.core.qr import label_address
from catalog.loans import actions
from catalog.loans.models import Loan
from catalog.storage import actions as storage
from tests.cast import Cast
from tests.loans.world import Stage, Store
from tests.papers import pages_of, words_of

URL = "/loans/MOOR-CALL-1-L1/gap-cards.pdf"


def test_a_card_says_what_went_where_and_until_when(cast: Cast, stage: Stage, loan: Loan, as_user: Any) -> None:
    label = storage.issue_label(by=cast.archivist, piece=stage.boots[0])
    answer = as_user(cast.archivist).get(URL)
    assert answer["Cache-Control"] == "private, no-store"
    words = words_of(answer.content)
    assert words.count("\f") == 1
    assert words.count("Not lost: out on loan.") == 3
    assert all(piece.number in words for piece in (*stage.coats[:2], stage.boots[0]))
    assert stage.coats[2].number not in words
    assert words.count(loan.to_whom) == 3
    assert words.count(f"{loan.due_on:%-d %b %Y}") == 3
    assert "at R1-B" in words
    assert "in TR-1, at R1-A" in words
    (page,) = pages_of(answer.content, 300)
    found = zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)
    assert [one.text for one in found] == [label_address(label.code)], "only what has a label has a code"


def test_when_it_is_away_the_card_names_its_home_and_what_stayed_has_none(
    cast: Cast, stage: Stage, store: Store, loan: Loan, as_user: Any
) -> None:
    stays = [piece.number for piece in stage.coats[:2]]
    actions.pull_piece(by=cast.archivist, loan=loan, code_or_number=stage.boots[0].number)
    actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver", leave_behind=stays, reason="no room")
    words = words_of(as_user(cast.archivist).get(URL).content)
    assert words.count("Not lost") == 1
    assert store.trunk.code in words


@pytest.mark.parametrize(("query", "said"), [("?size=a5", "There is no paper “a5”"), ("?size=", "There is no paper")])
def test_another_paper_is_told(cast: Cast, loan: Loan, as_user: Any, query: str, said: str) -> None:
    answer = as_user(cast.archivist).get(URL + query)
    assert 400 <= answer.status_code < 500
    assert said in answer.content.decode()


def test_nothing_to_leave_is_told(cast: Cast, loan: Loan, as_user: Any) -> None:
    actions.call_off_loan(by=cast.archivist, loan=loan, reason="rained off")
    answer = as_user(cast.archivist).get(URL)
    assert "there is no card to print" in answer.content.decode()


def test_the_pull_offers_them(cast: Cast, loan: Loan, as_user: Any) -> None:
    assert f'href="{URL}"' in as_user(cast.archivist).get("/loans/MOOR-CALL-1-L1/pull/").content.decode()
