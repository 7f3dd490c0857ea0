"""The out-report and the in-report on paper: every mark, the pins on the picture, both signatures."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import zxingcpp
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from catalog.access.duties import Duty
from catalog.care import actions as care
from catalog.care.report_actions import MarkSeen
from catalog.core.models import File
from catalog.core.paper import parts
from catalog.core.paper.page import paper_pdf
from catalog.core.paper.pinned import PinnedPicture
from catalog.loans import actions
from catalog.loans.loss_paper import losses_of
from catalog.loans.models import Loan, LoanReport, LoanReportLine
from catalog.loans.report_paper import condition_parts
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.core.test_paper import HEAD
from tests.loans.world import Stage
from tests.papers import pages_of, words_of
from tests.pieces.world import picture
from tests.reading import text_of

As = Callable[[Any], Client]
LOAN = "/loans/MOOR-CALL-1-L1/"


@pytest.fixture
def signed(cast: Cast, stage: Stage, out: Loan) -> Loan:
    """A coat with a tear pinned on its picture, the others without a mark; signed by both sides."""
    front = pieces.add_picture(by=cast.archivist, piece=stage.coats[0], data=picture("white"))
    for line in out.lines.select_related("loan__call", "piece"):
        seen = [MarkSeen("front, proper left hem", "tear", 20, file=front.file, x_permille=250, y_permille=500)]
        own = line.piece_id == stage.coats[0].pk
        actions.report_line(
            by=cast.archivist, line=line, way="out", grade=2, note="thin at the elbow", marks=seen if own else []
        )
    actions.sign_report(by=cast.archivist, loan=out, way="out", borrower_name="B. Driver", borrower_for="Pick-up unit")
    return out


def read(answer: Any) -> str:
    assert answer.status_code == 200, answer.content[:1500]
    return " ".join(words_of(answer.content).split())


def test_the_out_report_has_every_mark_and_both_signatures(cast: Cast, signed: Loan, as_user: As) -> None:
    answer = as_user(cast.set_costumer).get(f"{LOAN}out-report.pdf")
    said = read(answer)
    assert "MOOR-CALL-1-L1: 3 pieces as they left, 1 mark." in said
    assert "MOOR-0001, coat: 2 ready, light wear" in said
    for words in ("tear", "front, proper left hem", "20 mm", "thin at the elbow", "No mark."):
        assert words in said
    assert "archivist for" in said
    assert "B. Driver for Pick-up unit, 7 Jun 2031; nothing in it changes any more" in said
    assert "Left and right are the wearer's." in said
    (page, *_) = pages_of(answer.content, 200)
    assert f"http://testserver{LOAN}" in [code.text for code in zxingcpp.read_barcodes(page)]


def test_a_pin_stands_where_it_was_set() -> None:
    """Measured on the rendered page against the permille that were asked for."""
    made = PinnedPicture(picture("white", (400, 300)), 80, 60, [(1, 250, 500)])
    data = paper_pdf(HEAD, [parts.text("x"), made])
    (page,) = pages_of(data, 254)  # ten dots a millimetre
    dark = np.array(page) < 128
    dark[: 35 * 10], dark[100 * 10 :] = False, False
    rows, columns = np.nonzero(dark[:, : 110 * 10])
    assert (columns.min() + columns.max()) / 20 == pytest.approx(18 + 80 * 0.25, abs=0.3)
    assert (rows.max() - rows.min()) / 10 == pytest.approx(4.2, abs=0.5)


def test_the_in_report_tells_what_the_loan_brought_and_the_loss_list_too(
    cast: Cast, stage: Stage, signed: Loan, as_user: As
) -> None:
    refused = as_user(cast.archivist).get(f"{LOAN}in-report.pdf")
    assert refused.status_code == 409
    assert "No piece has been counted back yet." in text_of(refused)
    actions.return_piece(
        by=cast.archivist, loan=signed, code_or_number="MOOR-0001", result="changed", note="cuff scorched"
    )
    assert "No piece is in the in-report yet." in text_of(as_user(cast.archivist).get(f"{LOAN}in-report.pdf"))
    line = signed.lines.select_related("loan__call", "piece").get(piece=stage.coats[0])
    (old,) = LoanReportLine.objects.get(line=line).condition.marks.all()
    marks = [
        MarkSeen(old.zone, old.word, 35, state="worse", answers=old),
        MarkSeen("right cuff", "scorch", 12, state="new", cause="accident", happened_with="unknown"),
    ]
    actions.report_line(by=cast.archivist, line=line, way="in", grade=3, marks=marks)
    said = read(as_user(cast.production).get(f"{LOAN}in-report.pdf"))
    assert "MOOR-CALL-1-L1: 1 piece as they came back, 1 new mark, 1 worse." in said
    assert "accident" in said
    assert "not signed by both sides: it may still change" in said
    assert losses_of(signed)[0].marks == ("worse: tear, front, proper left hem", "new: scorch, right cuff (accident)")
    assert "new: scorch, right cuff (accident)" in read(as_user(cast.archivist).get(f"{LOAN}losses.pdf"))


def test_each_report_is_for_its_people_and_a_hidden_picture_stays_hidden(cast: Cast, signed: Loan, as_user: As) -> None:
    for duty in Duty:
        answer = as_user(cast.of(duty)).get(f"{LOAN}out-report.pdf")
        assert answer.status_code == (403 if duty is Duty.VISITOR else 200), duty
        if answer.status_code == 200:
            assert "EUR" not in words_of(answer.content)
            assert "Perpetua" not in words_of(answer.content)
    assert as_user(None).get(f"{LOAN}out-report.pdf").status_code == 302

    def pictures(person: Any) -> int:
        return sum(isinstance(part, PinnedPicture) for part in condition_parts(signed, "out", person))

    assert pictures(cast.production) == 1
    File.objects.update(seen_by="wardrobe")
    assert (pictures(cast.production), pictures(cast.wardrobe_lead)) == (0, 1)


def test_before_anything_is_reported_there_is_no_paper(cast: Cast, loan: Loan, as_user: As) -> None:
    answer = as_user(cast.archivist).get(f"{LOAN}out-report.pdf")
    assert answer.status_code == 409
    assert "No piece is in the out-report yet." in text_of(answer)


def test_more_pieces_ask_no_more(cast: Cast, stage: Stage, loan: Loan) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert list(condition_parts(loan, "out", cast.archivist))
        return len(seen)

    def report(piece: Piece) -> None:
        line, _ = loan.lines.get_or_create(piece=piece)
        said = care.report_condition(by=cast.archivist, piece=piece, grade=2, marks=[MarkSeen("hem", "tear", 20)])
        book, _ = LoanReport.objects.get_or_create(loan=loan, way="out")
        LoanReportLine.objects.create(report=book, line=line, condition=said)

    for piece in stage.coats[:2]:
        report(piece)
    few = asked()
    coat = stage.coats[0]
    for n in range(1000, 1030):
        report(Piece.objects.create(number=f"MOOR-{n}", name="coat", kind="coat", production=coat.production))
    assert asked() == few
