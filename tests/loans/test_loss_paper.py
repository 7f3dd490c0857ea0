"""The list of what was lost and damaged: each piece, each missing half, and the money added up a second time."""

import csv
from collections.abc import Callable
from decimal import Decimal
from io import StringIO
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from catalog.access.duties import Duty
from catalog.core import clock as core_clock
from catalog.loans import actions
from catalog.loans.loss_paper import loss_parts, losses_of, sums_of
from catalog.loans.models import Loan, LoanLine
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece, Valuation
from tests.cast import Cast
from tests.loans.world import Stage
from tests.papers import words_of
from tests.reading import text_of

LOAN = "/loans/MOOR-CALL-1-L1/"
AMOUNTS = {"MOOR-0001": ("EUR", "1234.50"), "MOOR-0002": ("USD", "90.25")}


@pytest.fixture
def harmed(cast: Cast, stage: Stage, out: Loan) -> Loan:
    """One coat lost, one torn; of the boots, never valued, the right one is missing."""
    for piece in stage.coats[:2]:
        currency, amount = AMOUNTS[piece.number]
        pieces.value_piece(
            by=cast.archivist, piece=piece, amount=Decimal(amount), currency=currency, valued_on=core_clock.today()
        )
    lines = {line.piece.number: line for line in out.lines.select_related("piece", "loan")}
    actions.mark_not_back(by=cast.archivist, line=lines["MOOR-0001"], note="swept off the quay")
    for number, result, note, letters in (
        ("MOOR-0002", "changed", "torn at the hem", ()),
        ("MOOR-0051", "incomplete", "right one gone", ("L",)),
    ):
        actions.return_piece(
            by=cast.archivist, loan=out, code_or_number=number, result=result, note=note, parts_back=letters
        )
    return Loan.objects.get(pk=out.pk)


def test_the_list_has_every_loss_and_adds_up(cast: Cast, harmed: Loan, as_user: Callable[[Any], Client]) -> None:
    said = " ".join(words_of(as_user(cast.production).get(f"{LOAN}losses.pdf").content).split())
    assert "MOOR-CALL-1-L1: 1 piece lost, 2 came back damaged or incomplete." in said
    assert "Value of what is lost EUR 1,234.50" in said
    assert "USD 90.25" in said
    assert "1 piece, in no sum" in said
    for words in ("swept off the quay", "torn at the hem", "missing: right boot", "not valued", "Confidential"):
        assert words in said
    answer = as_user(cast.archivist).get(f"{LOAN}losses.csv")
    rows = list(csv.DictReader(StringIO(b"".join(answer).decode())))
    assert [row["what"] for row in rows] == ["did not come back", "changed", "incomplete"]
    for currency in ("EUR", "USD"):
        by_hand = sum(Decimal(row["value"]) for row in rows if row["currency"] == currency)
        assert sums_of(losses_of(harmed))[currency] == by_hand == Decimal(dict(AMOUNTS.values())[currency])


def test_values_are_for_those_who_may_see_them(cast: Cast, harmed: Loan, as_user: Callable[[Any], Client]) -> None:
    for duty in Duty:
        for form in ("pdf", "csv"):
            answer = as_user(cast.of(duty)).get(f"{LOAN}losses.{form}")
            assert answer.status_code == (200 if duty in {Duty.ARCHIVIST, Duty.PRODUCTION} else 403), duty
    assert as_user(None).get(f"{LOAN}losses.pdf").status_code == 302


def test_nothing_harmed_means_no_list(cast: Cast, out: Loan, as_user: Callable[[Any], Client]) -> None:
    answer = as_user(cast.archivist).get(f"{LOAN}losses.pdf")
    assert answer.status_code == 409
    assert "Nothing is recorded as lost or damaged." in text_of(answer)


def test_two_hundred_losses_ask_what_three_ask(cast: Cast, stage: Stage, harmed: Loan) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert list(loss_parts(harmed, losses_of(harmed)))
        return len(seen)

    few = asked()
    made = Piece.objects.bulk_create(
        Piece(number=f"MOOR-{n}", name="coat", kind="coat", production=stage.production) for n in range(1000, 1197)
    )
    LoanLine.objects.bulk_create(
        LoanLine(loan=harmed, piece=piece, state="not back", result_note="gone") for piece in made
    )
    Valuation.objects.bulk_create(
        Valuation(piece=piece, amount=Decimal("0.10"), currency="EUR", valued_on=core_clock.today(), basis="agreed")
        for piece in made
    )
    assert asked() == few <= 9
    assert sums_of(losses_of(harmed))["EUR"] == Decimal("1234.50") + 197 * Decimal("0.10")
