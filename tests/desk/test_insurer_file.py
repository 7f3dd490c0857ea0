"""The insurer's file: what lies in it, that each statement stands on its own proof, and for whom it is."""

import csv
from collections.abc import Callable
from decimal import Decimal
from io import BytesIO, StringIO
from typing import Any
from zipfile import ZipFile

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from catalog.access.duties import Duty
from catalog.access.permissions import Ability
from catalog.care import actions as care
from catalog.core import history
from catalog.core.models import File
from catalog.desk.insurer_file import insurer_zip
from catalog.loans import actions as loans
from catalog.loans.models import Loan, LoanLine
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece, PieceFile
from tests.cast import Cast
from tests.core.test_paper import HEAD
from tests.loans.world import make_call, make_firm, make_stage, make_store
from tests.papers import words_of
from tests.reading import text_of

As = Callable[[Any], Client]
FILE = "/loans/MOOR-CALL-1-L1/insurer.zip"


@pytest.fixture
def harmed(cast: Cast) -> Loan:
    """A coat reported on and valued, lost on location; a second one came back torn; boots as sent."""
    with time_machine.travel("2031-06-08 08:00Z", tick=False):
        stage = make_stage()
        make_store(cast.archivist, stage)
        coat = stage.coats[0]
        care.report_condition(by=cast.archivist, piece=coat, grade=2, note="thin at the elbow")
        value = {"amount": Decimal("1234.50"), "currency": "EUR", "valued_on": HEAD.printed.date()}
        pieces.value_piece(by=cast.archivist, piece=coat, **value)
        held = make_firm(cast.production, [*stage.coats[:2], stage.boots[0]], make_call(cast.production, stage))
        loan = loans.start_loan(by=cast.archivist, hold=held)
        for piece in (*stage.coats[:2], stage.boots[0]):
            loans.pull_piece(by=cast.archivist, loan=loan, code_or_number=piece.number)
        loan = loans.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver")
        loans.mark_not_back(by=cast.archivist, line=loan.lines.get(piece=coat), note="swept off the quay")
        loans.return_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0002", result="changed", note="torn")
    for n, seen_by in enumerate(("everybody", "wardrobe")):
        file = File.objects.create(sha256=f"{n}" * 64, media_type="image/jpeg", size_bytes=1, seen_by=seen_by)
        PieceFile.objects.create(piece=coat, file=file, view="back")
    return loan


def test_everything_a_claim_needs_lies_in_it(cast: Cast, harmed: Loan, as_user: As) -> None:
    answer = as_user(cast.archivist).get(FILE)
    assert answer["Content-Type"] == "application/zip"
    assert answer["Cache-Control"] == "private, no-store"
    file = ZipFile(BytesIO(answer.content))
    assert file.testzip() is None
    assert file.namelist() == ["1-losses.pdf", "1-losses.csv", "2-custody.pdf", "3-condition.pdf", "4-pictures.csv"]
    losses, custody, condition = (words_of(file.read(name)) for name in file.namelist() if name.endswith(".pdf"))
    assert "EUR 1,234.50" in losses.replace("\u00a0", " ")
    rows = list(csv.DictReader(StringIO(file.read("1-losses.csv").decode())))
    assert [(row["number"], row["value"]) for row in rows] == [("MOOR-0001", "1234.50"), ("MOOR-0002", "not valued")]
    first, second = custody.split("\f")[:2]
    assert "MOOR-0001 was last seen on" in first
    assert "MOOR-0002 was last seen on" in second
    assert "MOOR-0051" not in custody, "it came back as it was sent"
    for page, number in ((first, "MOOR-0001"), (second, "MOOR-0002")):
        head = history.head_hash(Piece.objects.get(number=number).subject)
        assert head in "".join(page.split())
        assert "Confidential: for the insurer" in page
    assert "thin at the elbow" in condition
    assert "No condition report is recorded." in condition


def test_the_reports_of_the_loan_lie_in_it_once_they_are_begun(cast: Cast, harmed: Loan, as_user: As) -> None:
    line = harmed.lines.select_related("loan__call", "piece").get(piece__number="MOOR-0002")
    loans.report_line(by=cast.archivist, line=line, way="in", grade=4, note="seam torn open")
    file = ZipFile(BytesIO(as_user(cast.archivist).get(FILE).content))
    assert file.namelist()[5:] == ["5-in-report.pdf"]
    assert "seam torn open" in words_of(file.read("5-in-report.pdf"))


def test_pictures_are_listed_for_those_who_may_see_them(cast: Cast, harmed: Loan, as_user: As) -> None:
    def listed(person: Any) -> list[str]:
        file = ZipFile(BytesIO(as_user(person).get(FILE).content))
        rows = csv.DictReader(StringIO(file.read("4-pictures.csv").decode()))
        return [row["sha-256 of the original"][0] for row in rows]

    assert listed(cast.archivist) == ["0", "1"]
    assert listed(cast.production) == ["0"]


def test_it_is_for_those_alone_who_may_see_values_and_custody(cast: Cast, harmed: Loan, as_user: As) -> None:
    may = Ability.CUSTODY.duties & Ability.SEE_VALUES.duties
    assert may == Ability.CUSTODY.duties
    for duty in Duty:
        assert as_user(cast.of(duty)).get(FILE).status_code == (200 if duty in may else 403), duty
    assert as_user(None).get(FILE).status_code == 302


def test_without_a_loss_there_is_no_file(cast: Cast, harmed: Loan, as_user: As) -> None:
    harmed.lines.update(state="put away", result="as sent")
    answer = as_user(cast.archivist).get(FILE)
    assert answer.status_code == 409
    assert "Nothing is recorded as lost or damaged." in text_of(answer)


def test_more_losses_ask_no_more(cast: Cast, harmed: Loan) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert insurer_zip(harmed, cast.archivist, HEAD, "a4")
        return len(seen)

    few = asked()
    production = Piece.objects.get(number="MOOR-0001").production
    made = Piece.objects.bulk_create(
        Piece(number=f"MOOR-{n}", name="coat", kind="coat", production=production) for n in range(1000, 1040)
    )
    LoanLine.objects.bulk_create(LoanLine(loan=harmed, piece=piece, state="not back") for piece in made)
    assert asked() == few <= 24
