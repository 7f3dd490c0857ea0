"""The report of a loan: two pages whatever the size, its money added up a second time; and whose data are held."""

from collections.abc import Callable, Iterator
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine
import zxingcpp
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from catalog.access.duties import Duty
from catalog.core import clock as core_clock
from catalog.desk.calc.loan_report import Delays, days_late, late_words, some
from catalog.desk.data_kept_queries import data_kept
from catalog.desk.loan_report_queries import report_of
from catalog.fitting import actions as fitting
from catalog.fitting.models import SizeSheet
from catalog.loans import actions as loans
from catalog.loans.models import Call, Loan, LoanCost, LoanLine, Wearer
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece, Valuation
from tests.cast import Cast
from tests.demo_world import DemoWorld
from tests.loans.world import make_call, make_firm, make_stage, make_store
from tests.papers import pages_of, words_of
from tests.reading import text_of

As = Callable[[Any], Client]
LOAN = "/loans/MOOR-CALL-1-L1/"
KEPT = "/calls/MOOR-CALL-1/data-kept/"
CHEST, HEIGHT = 1_043, 1_771


@pytest.fixture
def clock(db: None) -> Iterator[Any]:
    with time_machine.travel("2031-06-09 08:00Z", tick=False) as travel:
        yield travel


@pytest.fixture
def loan(clock: Any, cast: Cast) -> Loan:
    """Left a day late; one of two coats is lost, and the boots came two days late with the right one gone."""
    stage = make_stage()
    make_store(cast.archivist, stage)
    call = make_call(cast.production, stage)
    loans.set_need(by=cast.production, call=call, role=stage.piper, count=2)
    wearer = loans.add_wearer(by=cast.production, call=call, number="7", name="Perpetua Quillfeather")
    fitting.add_sheet(
        by=cast.wardrobe_lead, wearer=wearer, layer="measured", height_mm=HEIGHT, values={"chest": CHEST}, consent=True
    )
    pieces.value_piece(
        by=cast.archivist, piece=stage.coats[0], amount=Decimal("1234.50"), currency="EUR",
        valued_on=core_clock.today(),
    )  # fmt: skip
    made = loans.start_loan(
        by=cast.archivist, hold=make_firm(cast.production, [*stage.coats[:2], stage.boots[0]], call)
    )
    for number in ("MOOR-0001", "MOOR-0002", "MOOR-0051"):
        loans.pull_piece(by=cast.archivist, loan=made, code_or_number=number)
    out = loans.send_loan(by=cast.archivist, loan=made, taken_by="B. Driver")
    clock.move_to("2031-06-16 08:00Z")
    loans.mark_not_back(by=cast.archivist, line=out.lines.get(piece=stage.coats[0]), note="swept off the quay")
    loans.return_piece(by=cast.archivist, loan=out, code_or_number="MOOR-0002", result="as sent")
    loans.return_piece(
        by=cast.archivist, loan=out, code_or_number="MOOR-0051", result="incomplete", note="right one gone",
        parts_back=["L"],
    )  # fmt: skip
    for what, amount, payer in (("carrier", "600.50", "borrower"), ("new boot", "88.25", "lender")):
        loans.note_cost(by=cast.production, loan=out, what=what, amount=Decimal(amount), currency="EUR", paid_by=payer)
    return Loan.objects.get(pk=out.pk)


def pages(answer: Any) -> list[str]:
    assert answer.status_code == 200, answer.content[:1500]
    return [" ".join(page.split()) for page in words_of(answer.content).split("\f")[:-1]]


def test_the_report_tells_the_whole_job_on_two_pages(cast: Cast, loan: Loan, as_user: As) -> None:
    answer = as_user(cast.production).get(f"{LOAN}report.pdf")
    first, second = pages(answer)
    assert "MOOR-CALL-1-L1: 3 pieces lent to Pick-up unit, 1 lost, 1 damaged or incomplete." in first
    assert "Draft of 16 Jun 2031: 2 pieces not put away yet." in first
    assert "2 performers: 2 Piper" in first
    assert "no plan was kept" in first
    assert "3 pieces: 3 Piper" in first
    assert "EUR 1,234.50 by the newest values" in first
    assert "9 Jun 2031; planned 8 Jun 2031: 1 day late" in first
    assert "the last piece 16 Jun 2031: 2 days late; 2 pieces after the day due" in first
    assert "1 size sheet of 1 performer kept until 12 Sep 2031." in first
    assert f"In all EUR {Decimal('600.50') + Decimal('88.25')}." in second
    assert "The archive pays EUR 88.25; the borrower pays EUR 600.50." in second
    assert "Came back: 1 as sent; 1 incomplete. Did not come back: 1." in second
    assert "swept off the quay" in second
    for lesson in ("Never weighed: MOOR-0001", "Left without a value: MOOR-0002, MOOR-0051", "stayed away: MOOR-0051"):
        assert lesson in second
    (picture, _) = pages_of(answer.content, 200)
    assert [code.text for code in zxingcpp.read_barcodes(picture)] == [f"http://testserver{LOAN}"]
    assert "1 of 2" in first
    assert "2 of 2" in second


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_two_hundred_lines_fit_the_two_pages_and_ask_no_more(cast: Cast, loan: Loan, as_user: As, size: str) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            report_of(Loan.objects.select_related("call", "hold").get(pk=loan.pk), core_clock.today())
        return len(seen)

    few = asked()
    production = Piece.objects.get(number="MOOR-0001").production
    made = Piece.objects.bulk_create(
        Piece(number=f"MOOR-{n}", name="a coat with a long name " * 4, kind="coat", production=production)
        for n in range(1000, 1197)
    )
    LoanLine.objects.bulk_create(
        LoanLine(
            loan=loan, piece=piece, state="put away", result="changed", result_note="torn and wet " * 15,
            back_at=core_clock.now() if hasattr(core_clock, "now") else None,
        )
        for piece in made
    )  # fmt: skip
    Valuation.objects.bulk_create(
        Valuation(piece=piece, amount=Decimal("0.10"), currency="USD", valued_on=date(2016, 1, 1), basis="agreed")
        for piece in made
    )
    LoanCost.objects.bulk_create(
        LoanCost(loan=loan, what="carrier and back again " * 6, amount=n, currency="EUR", paid_by="insurer")
        for n in range(1, 60)
    )
    assert asked() == few <= 22
    first, second = pages(as_user(cast.archivist).get(f"{LOAN}report.pdf?size={size}"))
    assert "200 pieces lent to Pick-up unit" in first
    assert f"EUR 1,234.50 and USD {197 * Decimal('0.10')}" in first
    assert f"the insurer pays EUR {sum(range(1, 60)):,}" in second
    assert "more, in the loss and damage list" in second
    assert "Left with a stale value: MOOR-1000" in second
    assert "For the borrower" in second


def test_the_demo_s_report_fits_two_pages(demo_world: DemoWorld, as_user: As) -> None:
    """Sixty pieces with their own names and values, sent for the demo's call; one did not come back."""
    chosen = list(Piece.objects.filter(number__startswith="LHS-", standing__state="in store").order_by("number")[:60])
    held = loans.hold(
        by=demo_world.cast.archivist, call=demo_world.call, reference="HOLD-9", for_whom="epilogue unit",
        strength="pencil", use_from=demo_world.call.load_on, use_to=demo_world.call.back_on, pieces=chosen,
    )  # fmt: skip
    sent = Loan.objects.create(
        reference="RS-2026-01-L1", call=demo_world.call, hold=held, to_whom="epilogue unit", state="home",
        out_on=demo_world.today, due_on=demo_world.call.back_on, taken_by="B. Driver",
    )  # fmt: skip
    LoanLine.objects.bulk_create(
        LoanLine(loan=sent, piece=piece, state="put away", result="as sent") for piece in chosen
    )
    LoanLine.objects.filter(piece=chosen[0]).update(state="not back", result="", result_note="not at the count")
    first, second = pages(as_user(demo_world.cast.production).get("/loans/RS-2026-01-L1/report.pdf"))
    assert "60 pieces lent to epilogue unit, 1 lost, 0 damaged or incomplete." in first
    assert "20 performers: 10 " in first
    assert "of 24 performers kept until 28 Dec 2026." in first
    worth = Valuation.objects.filter(piece__in=chosen)
    assert f"EUR {sum(row.amount for row in worth):,.0f} by the newest values" in first
    assert "not at the count" in second


def test_before_it_leaves_there_is_nothing_to_report(cast: Cast, loan: Loan, as_user: As) -> None:
    Loan.objects.filter(pk=loan.pk).update(out_on=None, state="pulling")
    answer = as_user(cast.archivist).get(f"{LOAN}report.pdf")
    assert answer.status_code == 409
    assert "Nothing has left yet." in text_of(answer)


def test_each_duty_gets_its_own_and_no_size_stands_anywhere(cast: Cast, loan: Loan, as_user: As) -> None:
    """Lengths in millimetres, centimetres and inches: on no paper and no page, for nobody."""
    staff = set(Duty) - {Duty.VISITOR}
    may = {f"{LOAN}report.pdf": {Duty.ARCHIVIST, Duty.PRODUCTION}, KEPT: staff, f"{KEPT[:-1]}.pdf": staff}
    for duty in Duty:
        client = as_user(cast.of(duty))
        for url, who in may.items():
            answer = client.get(url)
            assert answer.status_code == (200 if duty in who else 403), (duty, url)
            if answer.status_code != 200:
                continue
            said = words_of(answer.content) if url.endswith("pdf") else text_of(answer)
            assert "MOOR-CALL-1" in said
            for size in (HEIGHT, CHEST):
                for words in (f"{size}", f"{size / 10:.1f}", f"{size / 25.4:.1f}"):
                    assert words not in said, (url, words)
    for url in (f"{LOAN}report.pdf", KEPT, f"{KEPT[:-1]}.pdf"):
        assert as_user(None).get(url).status_code == 302


def test_the_page_lists_what_is_kept_and_what_was_deleted_on_its_day(
    cast: Cast, loan: Loan, as_user: As, clock: Any
) -> None:
    client = as_user(cast.production)
    page = text_of(client.get(KEPT))
    assert "1 size sheet of 1 performer kept until 12 Sep 2031." in page
    assert "Perpetua Quillfeather" in page
    sheet = SizeSheet.objects.get()
    clock.move_to(sheet.delete_on + timedelta(days=1))
    assert "The day has passed: they are to be deleted now." in text_of(as_user(cast.production).get(KEPT))
    clock.move_to(sheet.delete_on)
    assert fitting.forget_sizes(today=sheet.delete_on) == {"MOOR-CALL-1": 1}
    client = as_user(cast.production)
    page = text_of(client.get(KEPT))
    assert "1 size sheet deleted on 12 Sep 2031." in page
    assert "Perpetua" not in page
    assert "name deleted" in page
    said = " ".join(words_of(client.get(f"{KEPT[:-1]}.pdf").content).split())
    assert "12 Sep 2031: 1 size sheet, by the program." in said


def test_more_performers_ask_no_more(cast: Cast, loan: Loan, django_assert_num_queries: Any) -> None:
    call = Call.objects.get()
    with CaptureQueriesContext(connection) as few:
        data_kept(call, core_clock.today())
    Wearer.objects.bulk_create(Wearer(call=call, number=f"X{n}") for n in range(60))
    with django_assert_num_queries(len(few)):
        assert len(data_kept(call, core_clock.today()).people) == 61
    assert "sizevalue" not in " ".join(query["sql"] for query in few)


def test_the_demo_holds_what_the_archive_says_it_holds(demo_world: DemoWorld) -> None:
    """The check value that was worked out by hand for the demo's tables: 24 people's sheets, until 28 Dec 2026."""
    kept = data_kept(demo_world.call, demo_world.today)
    assert (kept.with_sheets, kept.names) == (24, 24)
    assert kept.due == date(2026, 12, 28)
    assert not kept.overdue


@pytest.mark.parametrize(
    ("planned", "happened", "said"),
    [
        (date(2031, 2, 28), date(2031, 3, 1), "1 day late"),
        (date(2032, 2, 28), date(2032, 3, 1), "2 days late"),
        (date(2031, 6, 8), date(2031, 6, 8), "on the day"),
        (date(2031, 1, 1), date(2030, 12, 31), "1 day early"),
        (None, date(2031, 6, 8), "not known"),
        (date(2031, 6, 8), None, "not known"),
    ],
)
def test_how_late_it_was(planned: date | None, happened: date | None, said: str) -> None:
    assert late_words(days_late(planned, happened)) == said


def test_what_is_still_out_is_late_only_after_its_day() -> None:
    due = date(2031, 6, 14)
    out = [Delays(due, due, due, None, 0, 1, None, due + timedelta(days=n)).returning for n in (-3, 0, 4)]
    assert out == [None, None, 4]
    assert some(["a", "b", "c"], 2) == "a, b and 1 more"
