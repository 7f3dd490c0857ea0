"""The out-report and the in-report of a loan: quick path, long path, both signatures, and then nothing changes."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse

from catalog.care import actions as care
from catalog.care.calc.long_report import why_long
from catalog.care.report_actions import MarkSeen, same_again
from catalog.core import history
from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.loans import actions
from catalog.loans.models import Loan, LoanLine, LoanReport, LoanReportLine
from catalog.loans.report_queries import harm_of, in_report, out_report, report_rows
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.loans.world import Stage, make_piece
from tests.pieces.world import picture
from tests.reading import text_of

As = Callable[[Any], Client]
BOTH = {"borrower_name": "B. Driver", "borrower_for": "Pick-up unit"}


def url(loan: Loan, way: str = "out", *, sign: bool = False) -> str:
    return reverse("loans:sign_condition" if sign else "loans:condition", args=[loan.reference, way])


def lines(loan: Loan) -> list[LoanLine]:
    return list(loan.lines.select_related("loan__call", "piece").order_by("order"))


def report_all(cast: Cast, loan: Loan, way: str = "out") -> None:
    for line in lines(loan):
        care.report_condition(by=cast.archivist, piece=line.piece, grade=2, marks=[MarkSeen("hem", "tear", 20)])
        actions.report_line_unchanged(by=cast.archivist, line=line, way=way)


@pytest.fixture
def told(cast: Cast, out: Loan) -> Loan:
    """Out, every piece in its out-report, not signed yet."""
    report_all(cast, out)
    return out


@pytest.fixture
def signed(cast: Cast, told: Loan) -> Loan:
    actions.sign_report(by=cast.archivist, loan=told, way="out", **BOTH)
    return told


@pytest.fixture
def back(cast: Cast, signed: Loan, clock: Any) -> Loan:
    """All three are home: a coat changed, the rest as sent."""
    clock.move_to("2031-06-15 08:00Z")
    for line in lines(signed):
        parts = [part.part.letter for part in line.parts.select_related("part")]
        result, note = ("changed", "sleeve") if line.piece.number == "MOOR-0001" else ("as sent", "")
        actions.return_piece(
            by=cast.archivist, loan=signed, code_or_number=line.piece.number, result=result, note=note,
            parts_back=parts if parts else None,
        )  # fmt: skip
    return signed


def test_no_change_says_again_what_the_last_report_said(cast: Cast, loan: Loan) -> None:
    line = lines(loan)[0]
    with pytest.raises(Refused, match="has no report yet: write the long one"):
        actions.report_line_unchanged(by=cast.archivist, line=line, way="out")
    care.report_condition(
        by=cast.archivist, piece=line.piece, grade=2, completeness="incomplete", missing="one button",
        marks=[MarkSeen("hem", "tear", 20, outline="front", x_permille=10, y_permille=20), MarkSeen("cuff", "stain")],
    )  # fmt: skip
    actions.report_line_unchanged(by=cast.archivist, line=line, way="out")
    (piece,) = out_report(loan).pieces
    assert (piece.number, piece.grade, piece.missing, piece.unchanged) == (line.piece.number, 2, "one button", True)
    assert [(m.n, m.word, m.state, m.outline, m.x_permille) for m in piece.marks] == [
        (1, "tear", "same", "front", 10),
        (2, "stain", "same", "", None),
    ]
    assert len(out_report(loan).not_reported) == 2
    assert out_report(loan).signatures == ()


def test_no_change_is_not_said_of_what_is_in_question(cast: Cast, loan: Loan, clock: Any) -> None:
    line = lines(loan)[0]
    care.report_condition(by=cast.archivist, piece=line.piece, grade=2)
    care.decide_wear(
        by=cast.archivist, piece=line.piece, decision="wear", decided_on=date(2031, 6, 7), decided_by_name="A"
    )
    clock.move_to("2031-06-08 08:00Z")
    care.question_wear(by=cast.archivist, piece=line.piece, what="fell", why="off the rail", on=date(2031, 6, 8))
    with pytest.raises(Refused, match="has not been reported on since 8 Jun 2031"):
        actions.report_line_unchanged(by=cast.archivist, line=line, way="out")


def test_a_report_is_signed_by_both_when_every_piece_has_a_line(cast: Cast, out: Loan) -> None:
    with pytest.raises(Refused, match="Without a report: "):
        actions.sign_report(by=cast.archivist, loan=out, way="out", **BOTH)
    report_all(cast, out)
    with pytest.raises(Refused, match="Write who signs for the borrower"):
        actions.sign_report(by=cast.archivist, loan=out, way="out", borrower_name=" ", borrower_for="x")
    performer = {"borrower_name": "perpetua  QUILLFEATHER", "borrower_for": "Pick-up unit"}
    with pytest.raises(Refused, match="A performer of the call does not sign"):
        actions.sign_report(by=cast.archivist, loan=out, way="out", **performer)
    with pytest.raises(NotAllowed):
        actions.sign_report(by=cast.set_costumer, loan=out, way="out", **BOTH)
    actions.sign_report(by=cast.archivist, loan=out, way="out", **BOTH)
    facts = out_report(out)
    assert [(one.side, one.name, one.signed_on) for one in facts.signatures] == [
        ("lender", "archivist", date(2031, 6, 7)),
        ("borrower", "B. Driver", date(2031, 6, 7)),
    ]
    assert len(facts.pieces) == 3
    newest = history.lines_of(out.subject).first()
    assert newest is not None
    assert newest.verb == "signed by both sides"
    assert "Driver" not in str(newest.after), "who signs stands in the report, not in the history"


def test_what_is_not_pulled_is_not_signed_for(cast: Cast, loan: Loan) -> None:
    report_all(cast, loan)
    with pytest.raises(Refused, match="Not pulled yet: "):
        actions.sign_report(by=cast.archivist, loan=loan, way="out", **BOTH)
    for line in lines(loan):
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number=line.piece.number)
    actions.sign_report(by=cast.archivist, loan=loan, way="out", **BOTH)
    # What was handed over and signed for neither goes back on the shelf nor stays behind.
    with pytest.raises(WrongState, match="is signed by both sides"):
        actions.put_back(by=cast.archivist, line=lines(loan)[0])
    with pytest.raises(WrongState, match="is signed by both sides"):
        actions.send_loan(
            by=cast.archivist, loan=loan, taken_by="B", leave_behind=[lines(loan)[0].piece.number], reason="torn"
        )


CHANGES: dict[str, Callable[[LoanReport], object]] = {
    "name": lambda report: LoanReport.objects.filter(pk=report.pk).update(borrower_name="Nobody"),
    "unsigned": lambda report: LoanReport.objects.filter(pk=report.pk).update(signed_at=None, signed_on=None),
    "gone": lambda report: LoanReport.objects.filter(pk=report.pk)._raw_delete("default"),
    "line renamed": lambda report: report.lines.update(name="Another coat"),
    "line gone": lambda report: LoanReportLine.objects.filter(report=report)._raw_delete("default"),
    "line added": lambda report: LoanReportLine.objects.create(
        report=report, line=LoanLine.objects.exclude(reported__report=report)[0],
        condition=report.lines.all()[0].condition, name="x",
    ),
    "line moved in": lambda report: LoanReportLine.objects.filter(report__way="in").update(report=report),
    "mark": lambda report: report.lines.all()[0].condition.marks.update(word="nothing"),
    "grade": lambda report: type(report.lines.all()[0].condition)
    .objects.filter(pk=report.lines.all()[0].condition_id)
    .update(grade=1),
}  # fmt: skip


@pytest.mark.parametrize("what", CHANGES)
def test_the_database_refuses_to_change_a_signed_report(cast: Cast, stage: Stage, signed: Loan, what: str) -> None:
    other = make_piece(stage.production, stage.piper, stage.coats[0].slot, 99)  # type: ignore[arg-type]
    line = LoanLine.objects.create(loan=signed, piece=other)
    open_one = LoanReport.objects.create(loan=signed, way="in")
    condition = signed.reports.get(way="out").lines.all()[0].condition
    LoanReportLine.objects.create(report=open_one, line=line, condition=condition, name="x")
    before = out_report(signed)
    with pytest.raises(DatabaseError), transaction.atomic():
        CHANGES[what](signed.reports.get(way="out"))
    assert out_report(signed) == before


def test_a_later_report_of_the_piece_leaves_the_signed_one_alone(cast: Cast, signed: Loan) -> None:
    before = out_report(signed)
    line = lines(signed)[0]
    care.report_condition(by=cast.archivist, piece=line.piece, grade=4)
    Piece.objects.filter(pk=line.piece.pk).update(name="Renamed coat")
    with pytest.raises(WrongState, match="signed by both sides: nothing in it changes"):
        actions.report_line(by=cast.archivist, line=line, way="out", grade=1)
    with pytest.raises(WrongState, match="signed by both sides"):
        actions.sign_report(by=cast.archivist, loan=signed, way="out", **BOTH)
    assert out_report(signed) == before


def test_the_in_report_answers_the_out_report(cast: Cast, back: Loan) -> None:
    line = next(line for line in lines(back) if line.piece.number == "MOOR-0001")
    with pytest.raises(Refused, match="came home changed: write the long one"):
        actions.report_line_unchanged(by=cast.archivist, line=line, way="in")
    old = back.reports.get(way="out").lines.get(line=line).condition.marks.get()
    new = MarkSeen("left cuff", "tear", 40, state="new", cause="accident", happened_with="unknown")
    worse = same_again(old, "worse", note="2 cm longer", cause="wear")
    for half, sentence in (
        ([new], "Say of each old mark whether it is same, worse or gone: tear at hem."),
        ([worse, worse, new], "An answer is not about a mark of the report MOOR-0001 starts from"),
        ([worse, MarkSeen("left cuff", "tear")], "Say of each new mark whether it is wear, handling or an accident"),
    ):
        with pytest.raises(Refused, match=sentence):
            actions.report_line(by=cast.archivist, line=line, way="in", grade=3, marks=half)
    marks = [worse, new]
    actions.report_line(by=cast.archivist, line=line, way="in", grade=3, work="half a day", marks=marks)
    for other in lines(back):
        if other.pk != line.pk:
            actions.report_line_unchanged(by=cast.archivist, line=other, way="in")
    facts = in_report(back)
    assert facts.not_reported == ()
    assert {piece.number: [mark.state for mark in piece.marks] for piece in facts.pieces} == {
        "MOOR-0001": ["worse", "new"], "MOOR-0002": ["same"], "MOOR-0051": ["same"],
    }  # fmt: skip
    harm = [(one.number, one.mark.state, one.mark.cause, one.mark.happened_with) for one in harm_of(back)]
    assert harm == [("MOOR-0001", "worse", "wear", ""), ("MOOR-0001", "new", "accident", "not known")]
    actions.sign_report(by=cast.archivist, loan=back, way="in", **BOTH)
    assert len(in_report(back).signatures) == 2


def test_only_what_is_back_is_in_the_in_report(cast: Cast, signed: Loan) -> None:
    assert report_rows(signed, "in") == []
    with pytest.raises(WrongState, match="only what is back is reported"):
        actions.report_line_unchanged(by=cast.archivist, line=lines(signed)[0], way="in")
    with pytest.raises(Refused, match="is there to sign for"):
        actions.sign_report(by=cast.archivist, loan=signed, way="in", **BOTH)


# --- pages ---------------------------------------------------------------------------------------------------------
def test_one_tap_a_piece_and_then_both_sign(cast: Cast, out: Loan, as_user: As) -> None:
    client = as_user(cast.archivist)
    for line in lines(out):
        care.report_condition(by=cast.archivist, piece=line.piece, grade=2)
    assert "0 of 3 pieces are reported as they go out." in text_of(client.get(url(out)))
    for line in lines(out):
        assert client.post(url(out), {"number": line.piece.number}).status_code == 302
    page = text_of(client.get(url(out)))
    assert "3 of 3 pieces are reported" in page
    assert "Sign with the borrower" in page
    form = client.get(url(out, sign=True)).content.decode()
    assert 'value="B. Driver"' in form, "who took the pieces is offered"
    sent = BOTH | {"signed_on": "2031-06-07"}
    assert "Tick that both have read the report" in text_of(client.post(url(out, sign=True), sent))
    assert client.post(url(out, sign=True), sent | {"read": "on"}).status_code == 302
    page = text_of(client.get(url(out)))
    assert "The out-report is signed by both sides: 3 pieces." in page
    assert "B. Driver for Pick-up unit, borrower, 7 Jun 2031." in page
    assert "Long report" not in page


def test_a_quick_picture_must_show_its_label(cast: Cast, out: Loan, as_user: As) -> None:
    client, line = as_user(cast.archivist), lines(out)[0]
    care.report_condition(by=cast.archivist, piece=line.piece, grade=2)
    number = line.piece.number
    assert 'type="file"' in client.get(url(out), {"picture": number}).content.decode()
    sent = {"number": number, "view": "front"}
    answer = client.post(url(out), sent | {"picture": SimpleUploadedFile("a.jpg", picture(), "image/jpeg")})
    assert answer.status_code == 422
    assert f"Is this {number}?" in text_of(answer)
    assert out_report(out).pieces == ()
    again = SimpleUploadedFile("a.jpg", picture(), "image/jpeg")
    assert client.post(url(out), sent | {"picture": again, "label": "read"}).status_code == 302
    assert len(out_report(out).pieces[0].picture_ids) == 1


def test_the_long_report_of_what_came_home_asks_for_a_cause(cast: Cast, back: Loan, as_user: As) -> None:
    client = as_user(cast.archivist)
    address = reverse("loans:condition_piece", args=[back.reference, "in", "MOOR-0001"])
    page = client.get(address).content.decode()
    assert "1. tear at hem" in page
    old = back.reports.get(way="out").lines.get(line__piece__number="MOOR-0001").condition.marks.get()
    sent = {"grade": "2", "stability": "stable", "completeness": "complete"}
    sent |= {"old-TOTAL_FORMS": "1", "old-INITIAL_FORMS": "1", "old-0-answers": str(old.pk), "old-0-state": "same"}
    sent |= {"mark-TOTAL_FORMS": "1", "mark-INITIAL_FORMS": "1", "mark-0-zone": "collar", "mark-0-word": "stain"}
    assert "wear, handling or an accident" in text_of(client.post(address, sent))
    accident = sent | {"mark-0-cause": "accident"}
    assert "in whose hands the accident happened" in text_of(client.post(address, accident))
    accident |= {"mark-0-happened_with": "carrier", "mark-0-happened_on": "2031-06-14"}
    assert client.post(address, accident).status_code == 302
    assert [harm.mark.happened_on for harm in harm_of(back)] == [date(2031, 6, 14)]
    said = text_of(client.get(url(back, "in")))
    assert "stain at collar: new, accident with the carrier, 14 Jun 2031" in said


@pytest.mark.parametrize(
    ("name", "args", "allowed"),
    [("condition", [], "AWPS"), ("condition_piece", ["MOOR-0001"], "A"), ("sign_condition", [], "A")],
)
def test_who_may_open_what(cast: Cast, out: Loan, as_user: As, name: str, args: list[str], allowed: str) -> None:
    address = reverse(f"loans:{name}", args=[out.reference, "out", *args])
    for letter, person in zip("AWPSV", cast.everyone(), strict=True):
        assert as_user(person).get(address).status_code == (200 if letter in allowed else 403), person
    assert as_user(None).get(address).status_code == 302
    page = as_user(cast.wardrobe_lead).get(url(out)).content.decode()
    assert "Long report" not in page
    assert as_user(cast.wardrobe_lead).post(url(out), {"number": "MOOR-0001"}).status_code == 403
    assert as_user(cast.archivist).get(reverse("loans:condition", args=[out.reference, "up"])).status_code == 404


def many(cast: Cast, stage: Stage, loan: Loan, count: int) -> None:
    """So many more lines, each with a report in the loan's out-report."""
    slot = stage.coats[0].slot
    assert slot is not None
    report = LoanReport.objects.get_or_create(loan=loan, way="out")[0]
    for n in range(count):
        piece = make_piece(stage.production, stage.piper, slot, 1000 + n + Piece.objects.count())
        line = LoanLine.objects.create(loan=loan, piece=piece, state="out", order=n)
        said = care.report_condition(by=cast.archivist, piece=piece, grade=2, marks=[MarkSeen("hem", "tear")])
        LoanReportLine.objects.create(report=report, line=line, condition=said, name=piece.name)


def test_two_hundred_lines_ask_as_much_as_ten(
    cast: Cast, stage: Stage, out: Loan, as_user: As, django_assert_max_num_queries: Any, django_assert_num_queries: Any
) -> None:
    client = as_user(cast.archivist)
    many(cast, stage, out, 7)
    with django_assert_max_num_queries(30) as few:
        client.get(url(out))
    with django_assert_max_num_queries(8) as facts:
        out_report(out)
    many(cast, stage, out, 190)
    with django_assert_num_queries(len(few)):
        assert text_of(client.get(url(out))).count("long report") < 5
    with django_assert_num_queries(len(facts)):
        assert len(out_report(out).pieces) == 197


def test_the_long_path_is_named_for_what_hides_its_harm() -> None:
    """The five words stand in the archive's own practice; common practice, no source."""
    assert why_long("coat", "hero", ["cloth"]) == ("hero",)
    assert why_long("helmet", "", ["hard plastic", "electric"]) == ("stiff", "electric")
    assert why_long("prop", "", ["foam rubber", "finish"]) == ("painted", "foam or rubber")
    assert why_long("shirt", "background", ["cloth", "knit"]) == ()


def test_a_report_has_the_fields_of_the_standard(cast: Cast, told: Loan) -> None:
    """EN 16095:2012, condition recording of movable heritage: purpose, identity, description, condition observed,
    method, date, author, images (scope read in public pages; the list of fields from memory).
    """
    piece = out_report(told).pieces[0]
    facts = out_report(told)
    assert (facts.way, facts.reference) == ("out", told.reference)  # purpose
    assert piece.number  # identity
    assert piece.name  # description
    assert (piece.grade_words, piece.stability, piece.completeness) == ("2 ready, light wear", "stable", "complete")
    assert len(piece.marks) == 1  # condition observed
    assert piece.method == ""  # method: nobody said, and none is made up
    assert (piece.reported_on, piece.reported_by) == (date(2031, 6, 7), "archivist")  # date, author
    assert piece.picture_ids == ()  # images
