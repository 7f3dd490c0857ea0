"""The papers of a loan, read back from the page: who prints which, when, and what stands on them."""

from decimal import Decimal
from html import escape
from typing import Any

import pytest
import zxingcpp
from django.db import connection
from django.test.utils import CaptureQueriesContext
from reportlab.lib.units import mm

from catalog.access import house_actions
from catalog.access.duties import Duty
from catalog.core import clock as core_clock
from catalog.core.paper.page import SIZES
from catalog.loans import actions
from catalog.loans.agreement import agreement_parts
from catalog.loans.calc.papers import PAPERS, Stand
from catalog.loans.models import Loan
from catalog.pieces import actions as pieces
from tests.cast import Cast
from tests.loans.world import Stage, Store, make_firm
from tests.papers import pages_of, words_of
from tests.reading import text_of

LOAN = "/loans/MOOR-CALL-1-L1/"
VALUES = {"MOOR-0001": "1234.50", "MOOR-0051": "777"}


@pytest.fixture
def valued(cast: Cast, stage: Stage, loan: Loan) -> Loan:
    for piece in (stage.coats[0], stage.boots[0]):
        amount = Decimal(VALUES[piece.number])
        pieces.value_piece(
            by=cast.archivist, piece=piece, amount=amount, currency="EUR", valued_on=core_clock.today(), basis="agreed"
        )
    return loan


def tight(data: bytes) -> str:
    return " ".join(words_of(data).split())


def test_the_sizes_are_those_of_the_standard() -> None:
    """ISO 216: A4 is 210 x 297 mm. US letter is 8.5 x 11 inches (ANSI/ASME Y14.1, size A)."""
    assert [round(side / mm) for side in SIZES["a4"]] == [210, 297]
    assert [side / 72 for side in SIZES["letter"]] == [8.5, 11]


def test_the_agreement_has_what_such_agreements_must_have(cast: Cast, stage: Stage, valued: Loan, as_user: Any) -> None:
    """Each head is one that the National Army Museum (London), the Oliewenhuis Art Museum and the Museum of Danish
    America name in their published conditions for loans out; the sentences are ours.
    """
    answer = as_user(cast.archivist).get(f"{LOAN}agreement.pdf")
    assert answer["Cache-Control"] == "private, no-store"
    said = tight(answer.content)
    heads = {
        "parties": ("Lender Wrapkeep archive", "Borrower Pick-up unit"),
        "objects": ("MOOR-0001", "MOOR-0002", "MOOR-0051", "left boot, right boot"),
        "purpose": ("Purpose reshoot: Pick-ups on the moor",),
        "dates": ("Leaves 8 Jun 2031", "Used 10 Jun 2031 to 12 Jun 2031", "Back on 14 Jun 2031"),
        "places": ("Places A moor",),
        "costs": ("Costs: Each side pays",),
        "cover and value": ("nail to nail", "EUR 2,011.50", "1 piece without a recorded value"),
        "packing and transport": ("The lender chooses the packing and the carrier",),
        "handling": ("Handling: Only people whom the borrower names",),
        "climate and light": ("Climate and light:",),
        "no alteration, no cleaning": ("Nothing is cut, dyed, painted, glued",),
        "labels": ("labels stay on",),
        "photographs and credit": ("Pictures and credit:",),
        "reporting damage": ("within 2 working days, and in writing",),
        "recall": ("Recall: The lender may ask for a piece back",),
        "return": ("Return: Everything is back",),
        "no transfer": ("No transfer: The borrower lends",),
        "worn pieces": ("Hours worn:", "Heat: The borrower has a plan", "medic and the local rules decide"),
        "not law": ("no legal advice: have them checked",),
        "signatures": ("For the lender", "For the borrower"),
    }
    missing = [head for head, words in heads.items() for word in words if word not in said]
    assert missing == []
    assert sum(map(Decimal, VALUES.values())) == Decimal("2011.50")
    assert "not valued" in said


def test_every_page_has_its_number_day_address_and_the_loans_code(cast: Cast, valued: Loan, as_user: Any) -> None:
    data = as_user(cast.archivist).get(f"{LOAN}agreement.pdf?size=letter").content
    pages = words_of(data).split("\f")[:-1]
    assert len(pages) > 1
    for number, (page, picture) in enumerate(zip(pages, pages_of(data, 200), strict=True), 1):
        assert f"{number} of {len(pages)}" in page
        assert "Printed 7 Jun 2031" in page
        assert f"http://testserver{LOAN}" in page
        codes = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
        assert [code.text for code in codes] == [f"http://testserver{LOAN}"]


def test_an_exhibition_has_no_terms_for_wearing(cast: Cast, stage: Stage, store: Store, as_user: Any) -> None:
    held = make_firm(cast.production, stage.coats[:1], reference="SHOW-1")
    held.purpose = "exhibition"
    held.save()
    loan = actions.start_loan(by=cast.archivist, hold=held)
    said = tight(as_user(cast.archivist).get(f"/loans/{loan.reference}/agreement.pdf").content)
    assert "Purpose exhibition" in said
    assert "Hours worn" not in said
    assert "Places not recorded" in said


def test_the_house_writes_its_own_terms(cast: Cast, valued: Loan, as_user: Any) -> None:
    client = as_user(cast.archivist)
    page = client.get("/house/")
    form = {name: page.context["form"][name].value() for name in page.context["form"].fields}
    form |= {"loan.terms": "Return: By noon.\n\n  Peat:   No peat <fires> & no smoke.  ", "house.closed_days": ""}
    assert client.post("/house/", form).status_code == 302
    said = tight(client.get(f"{LOAN}agreement.pdf").content)
    assert "1. Return: By noon. 2. Peat: No peat <fires> & no smoke. 3. Who dresses" in said
    assert "Terms of a loan: rewritten, 2 new and 13 old lines." in text_of(client.get("/house/"))
    refused = client.post("/house/", form | {"loan.terms": ""})
    assert refused.status_code == 422
    assert "Terms of a loan: this is empty." in text_of(refused)
    with pytest.raises(house_actions.Refused):
        house_actions.put_setting(by=cast.archivist, key="loan.terms", value=" \n ")


def test_a_hold_note_says_what_stands_and_until_when(cast: Cast, stage: Stage, loan: Loan, as_user: Any) -> None:
    firm = as_user(cast.set_costumer).get("/holds/JOB-1/note.pdf")
    said = tight(firm.content)
    assert "JOB-1 holds 3 pieces for Pick-up unit." in said
    assert "Authorised by A. Producer" in said
    assert "Held 8 Jun 2031 to 28 Jun 2031" in said
    (page,) = pages_of(firm.content, 200)
    assert [one.text for one in zxingcpp.read_barcodes(page)] == ["http://testserver/holds/JOB-1/"]
    pencil = actions.hold(
        by=cast.production, reference="PEN-1", for_whom="Stills", pieces=stage.coats[2:], use_from=core_clock.today(),
        use_to=core_clock.today(), strength="pencil",
    )  # fmt: skip
    said = tight(as_user(cast.production).get("/holds/PEN-1/note.pdf").content)
    assert "PEN-1 pencils 1 piece for Stills." in said
    assert "21 Jun 2031: it lapses by itself unless it is made firm" in said
    assert "nobody yet: a firm hold needs a name" in said
    actions.release_hold(by=cast.production, hold=pencil, reason="no stills")
    gone = as_user(cast.production).get("/holds/PEN-1/note.pdf")
    assert gone.status_code == 409
    assert "PEN-1 holds nothing any more" in text_of(gone)


def test_the_page_names_every_paper_and_why_one_must_wait(cast: Cast, valued: Loan, as_user: Any) -> None:
    page = text_of(as_user(cast.archivist).get(f"{LOAN}papers/"))
    assert [paper.title for paper in PAPERS if escape(paper.title) not in page] == []
    assert [paper.purpose for paper in PAPERS if escape(paper.purpose) not in page] == []
    assert f'href="{LOAN}agreement.pdf"' in page
    lead = text_of(as_user(cast.wardrobe_lead).get(f"{LOAN}papers/"))
    assert f'href="{LOAN}agreement.pdf"' not in lead
    assert "For the archivist or the production." in lead


def test_each_paper_is_for_its_people_and_no_value_for_others(cast: Cast, valued: Loan, as_user: Any) -> None:
    for duty in Duty:
        answer = as_user(cast.of(duty)).get(f"{LOAN}agreement.pdf")
        assert answer.status_code == (200 if duty in {Duty.ARCHIVIST, Duty.PRODUCTION} else 403), duty
        note = as_user(cast.of(duty)).get("/holds/JOB-1/note.pdf")
        assert note.status_code == (403 if duty is Duty.VISITOR else 200), duty
        if note.status_code == 200:
            assert "EUR" not in words_of(note.content)
    assert as_user(None).get(f"{LOAN}agreement.pdf").status_code == 302


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.address)
def test_a_reason_is_a_sentence(paper: Any) -> None:
    stands = [
        Stand(state, n, False, gone, n, n, n, n) for state in ("pulling", "closed") for n in (0, 3) for gone in (0, 1)
    ]
    for said in (paper.why_not(stand) for stand in stands):
        assert said == "" or (said[0].isupper() and said.endswith("."))


def test_the_value_of_a_loan_is_that_of_its_list(cast: Cast, valued: Loan, as_user: Any) -> None:
    said = tight(as_user(cast.production).get(f"{LOAN}values.pdf").content)
    assert "EUR 2,011.50 leaves the door in 3 pieces, as far as they are valued." in said
    assert "Leaves, is back 8 Jun 2031, 14 Jun 2031" in said
    assert "MOOR-0002: in no sum" in said
    rows = b"".join(as_user(cast.archivist).get(f"{LOAN}values.csv")).decode().splitlines()
    assert [row.split(",")[0] for row in rows[1:]] == ["MOOR-0001", "MOOR-0002", "MOOR-0051"]
    for duty in Duty:
        for form in ("pdf", "csv"):
            answer = as_user(cast.of(duty)).get(f"{LOAN}values.{form}")
            assert answer.status_code == (200 if duty in {Duty.ARCHIVIST, Duty.PRODUCTION} else 403), duty
    assert as_user(None).get(f"{LOAN}values.pdf").status_code == 302


def test_more_pieces_ask_no_more(cast: Cast, loan: Loan, as_user: Any) -> None:
    found = Loan.objects.select_related("call", "hold").get(pk=loan.pk)
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as seen:
            assert list(agreement_parts(found))
        counts.append(len(seen))
        loan.lines.filter(piece__number="MOOR-0002").delete()
    assert counts[0] == counts[1] <= 8
