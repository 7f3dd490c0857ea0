"""Pull list, sign-out sheets, count-back sheet: what stands on them, for whom, and that no size is even asked for."""

import csv
from io import StringIO
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from catalog.access.duties import Duty
from catalog.loans import actions, set_papers
from catalog.loans.loan_queries import pull_list
from catalog.loans.models import Loan, LoanLine, Wearer
from catalog.loans.pull_paper import pull_parts
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.loans.world import Stage, decide
from tests.papers import words_of
from tests.reading import text_of

LOAN = "/loans/MOOR-CALL-1-L1/"
NAME = "Perpetua Quillfeather"


@pytest.fixture
def given(cast: Cast, stage: Stage, out: Loan) -> Loan:
    """Performer 7 has a limited coat on; her boots are in; the second coat is nobody's."""
    decide(cast.archivist, stage.coats[0], "wear with limits", limits="take off between takes", minutes_limit=20)
    seven = Wearer.objects.get(number="7")
    for piece in (stage.coats[0], stage.boots[0]):
        line = actions.sign_out_piece(by=cast.set_costumer, line=out.lines.get(piece=piece), wearer=seven)
    actions.sign_in_piece(by=cast.set_costumer, line=line)
    return out


def tight(answer: Any) -> str:
    assert answer.status_code == 200, answer.content[:2000]
    return " ".join(words_of(answer.content).split())


def test_the_pull_list_walks_and_names_steps_and_two_people(cast: Cast, stage: Stage, loan: Loan, as_user: Any) -> None:
    Piece.objects.filter(pk=stage.boots[0].pk).update(weight_g=31_400)
    actions.pull_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0002")
    said = tight(as_user(cast.set_costumer).get(f"{LOAN}pull-list.pdf"))
    assert "2 of 3 pieces left to pull for Pick-up unit." in said
    assert "Steps for 2 pieces; two people for 1 piece; 2 pieces are not weighed." in said
    assert said.index("MOOR-0001") < said.index("MOOR-0051"), "the high bay is walked first"
    assert "31.4 kg" in said
    assert "R right boot" in said
    answer = as_user(cast.archivist).get(f"{LOAN}pull-list.csv")
    rows = list(csv.DictReader(StringIO(b"".join(answer.streaming_content).decode())))
    assert [(row["number"], row["people to lift"], row["steps needed"]) for row in rows] == [
        ("MOOR-0001", "not weighed", "yes"), ("MOOR-0002", "not weighed", "yes"), ("MOOR-0051", "2", "no"),
    ]  # fmt: skip
    assert rows[2]["weight kg"] == "31.400"


def test_after_it_left_there_is_nothing_to_pull(cast: Cast, out: Loan, as_user: Any) -> None:
    answer = as_user(cast.archivist).get(f"{LOAN}pull-list.pdf")
    assert answer.status_code == 409
    assert "Nothing is left to pull: the loan has left." in text_of(answer)
    page = text_of(as_user(cast.archivist).get(f"{LOAN}papers/"))
    assert f'href="{LOAN}pull-list.pdf"' not in page
    assert f'href="{LOAN}count-back.csv"' in page


def test_wardrobe_s_copy_has_the_pieces_and_production_s_has_none(
    cast: Cast, stage: Stage, given: Loan, as_user: Any
) -> None:
    said = tight(as_user(cast.set_costumer).get(f"{LOAN}sign-out.pdf"))
    assert "3 pieces to sign out to 1 performer." in said
    assert f"7 {NAME}" in said
    assert "20 min" in said
    assert "left boot, right boot" in said
    assert "medic and local rules decide" in said
    assert said.index("MOOR-0051") < said.index("For nobody in particular") < said.index("MOOR-0002")
    said = tight(as_user(cast.production).get(f"{LOAN}who-is-dressed.pdf"))
    assert "1 of 1 performer dressed." in said
    assert all(word in said for word in ("Perpetua", "Quillfeather", "Piper", "10 Jun, 11 Jun, 12 Jun", " yes "))
    assert "MOOR-0" not in said, "which piece somebody wears is not production's"


def test_the_count_names_what_is_still_on_somebody(cast: Cast, given: Loan, as_user: Any) -> None:
    said = tight(as_user(cast.wardrobe_lead).get(f"{LOAN}count-back.pdf"))
    assert "3 pieces to count back, 1 still on somebody." in said
    assert said.count("still on ") == 2
    rows = list(csv.reader(StringIO(b"".join(as_user(cast.archivist).get(f"{LOAN}count-back.csv")).decode())))
    assert rows[1] == ["7", "MOOR-0001", "coat", "", "on set, signed out"]
    assert rows[2][:4] == ["7", "MOOR-0051", "boots", "left boot, right boot"]
    assert rows[3][0] == ""


SHEETS = ("sign-out.pdf", "who-is-dressed.pdf", "count-back.pdf", "count-back.csv")
WARDROBE = {Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.SET_COSTUMER}


@pytest.mark.parametrize("sheet", SHEETS)
def test_each_sheet_is_for_its_people_and_asks_for_no_size(sheet: str, cast: Cast, given: Loan, as_user: Any) -> None:
    may = WARDROBE | {Duty.PRODUCTION} if sheet == "who-is-dressed.pdf" else WARDROBE
    for duty in Duty:
        with CaptureQueriesContext(connection) as seen:
            answer = as_user(cast.of(duty)).get(f"{LOAN}{sheet}")
            assert answer.status_code == (200 if duty in may else 403), duty
            assert b"".join(answer) if answer.status_code == 200 else True
        asked = " ".join(query["sql"] for query in seen)
        assert "loanline" in asked or duty not in may
        assert not any(table in asked for table in ("sizesheet", "sizevalue", "exclusion", "valuation"))
    assert as_user(None).get(f"{LOAN}{sheet}").status_code == 302


def test_nobody_to_sign_means_no_sheet(cast: Cast, loan: Loan, as_user: Any) -> None:
    Wearer.objects.all().delete()
    answer = as_user(cast.archivist).get(f"{LOAN}sign-out.pdf")
    assert answer.status_code == 409
    assert "No performer is on the list of this call." in text_of(answer)


def test_two_hundred_pieces_ask_what_ten_ask(cast: Cast, stage: Stage, loan: Loan) -> None:
    def add(first: int, last: int) -> None:
        coat = stage.coats[0]
        made = Piece.objects.bulk_create(
            Piece(number=f"MOOR-{n}", name="coat", kind="coat", production=coat.production, role=coat.role)
            for n in range(first, last)
        )
        seven = Wearer.objects.get(number="7")
        LoanLine.objects.bulk_create(LoanLine(loan=loan, piece=piece, wearer=seven, order=9) for piece in made)

    def asked() -> list[int]:
        found = Loan.objects.select_related("call", "hold").get(pk=loan.pk)
        counts = []
        for read in (
            lambda: list(pull_parts(found, pull_list(found))),
            lambda: list(set_papers.sign_out_parts(found)),
            lambda: list(set_papers.production_parts(found)),
            lambda: list(set_papers.count_back_parts(found)),
        ):
            with CaptureQueriesContext(connection) as seen:
                assert read()
            counts.append(len(seen))
        return counts

    add(1001, 1008)
    ten = asked()
    add(2001, 2191)
    assert loan.lines.count() == 200
    assert asked() == ten
    assert max(ten) <= 25
