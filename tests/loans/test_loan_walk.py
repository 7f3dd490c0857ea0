"""One loan from the hold to the closed book, and every wrong turn on the way."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.test import Client

from catalog.care import actions as care
from catalog.care.models import Quarantine
from catalog.core.errors import AlreadyHeld, NotAllowed, Refused, WrongState
from catalog.core.history import lines_of
from catalog.core.models import HistoryLine
from catalog.loans import actions, loan_queries, queries, set_queries
from catalog.loans.models import HoldDay, Loan, LoanLine
from catalog.pieces.models import Material
from catalog.storage import actions as storage
from catalog.storage.models import Standing
from tests.cast import Cast
from tests.loans.world import Stage, Store, decide, make_call, make_firm
from tests.reading import text_of


def line_of(loan: Loan, number: str) -> LoanLine:
    return loan.lines.select_related("piece", "loan").get(piece__number=number)


def pull_all(cast: Cast, loan: Loan) -> None:
    for line in loan.lines.select_related("piece"):
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number=line.piece.number)


# --- the walk --------------------------------------------------------------------------------------------------------
def test_hold_pull_send_wear_return_close(cast: Cast, stage: Stage, store: Store, loan: Loan, clock: Any) -> None:
    lead, costumer, archivist = cast.wardrobe_lead, cast.set_costumer, cast.archivist
    assert loan.reference == "MOOR-CALL-1-L1"
    assert [row.line.piece.number for row in loan_queries.pull_list(loan)] == ["MOOR-0001", "MOOR-0002", "MOOR-0051"]
    assert [row.where.words for row in loan_queries.pull_list(loan)] == ["at R1-B", "at R1-B", "in TR-1, at R1-A"]
    assert [row.where.needs_steps for row in loan_queries.pull_list(loan)] == [True, True, False]
    label = storage.issue_label(by=archivist, piece=stage.coat)
    actions.pull_piece(by=lead, loan=loan, code_or_number=f"HTTPS://ARCHIVE.EXAMPLE/Q/{label.code}")
    actions.pull_piece(by=lead, loan=loan, code_or_number="moor-0002")
    actions.pull_piece(by=lead, loan=loan, code_or_number="MOOR-0051")
    care.report_condition(by=archivist, piece=stage.coat, grade=2)
    actions.send_loan(by=lead, loan=loan, taken_by="B. Driver")
    assert Standing.objects.get(piece=stage.coat).state == "out"
    assert line_of(loan, "MOOR-0001").out_grade == 2
    assert queries.busy_piece_ids(date(2031, 9, 1), date(2031, 9, 2)) == {line.piece_id for line in loan.lines.all()}

    clock.move_to("2031-06-10 06:00Z")
    decide(archivist, stage.coat)
    wearer = loan.call.wearers.get()
    actions.sign_out_piece(by=costumer, line=line_of(loan, "MOOR-0001"), wearer=wearer)
    assert [row.on_set for row in set_queries.performers(loan)] == [1, 0]
    actions.sign_in_piece(by=costumer, line=line_of(loan, "MOOR-0001"))

    clock.move_to("2031-06-14 15:00Z")
    actions.return_piece(by=costumer, loan=loan, code_or_number="MOOR-0001", result="as sent")
    actions.return_piece(by=costumer, loan=loan, code_or_number="MOOR-0002", result="changed", note="cuff torn")
    actions.return_piece(
        by=costumer, loan=loan, code_or_number="MOOR-0051", result="incomplete", note="right one lost", parts_back=["L"]
    )
    loan.refresh_from_db()
    assert loan.state == Loan.State.HOME
    assert Standing.objects.get(piece=stage.coat).place == store.quarantine
    assert Quarantine.objects.get(piece=stage.coat).due_on == date(2031, 6, 28)
    lost = stage.boots[0].parts.get(letter="R")
    assert lost.missing_since == date(2031, 6, 14)

    with pytest.raises(WrongState, match="MOOR-0001, MOOR-0002, MOOR-0051 are in quarantine"):
        actions.close_loan(by=archivist, loan=loan)
    with pytest.raises(Refused, match="in quarantine until 28 Jun 2031: release it first"):
        actions.put_away(by=archivist, line=line_of(loan, "MOOR-0001"))
    clock.move_to("2031-06-28 09:00Z")
    actions.part_came_home(by=costumer, line=line_of(loan, "MOOR-0051"), part=lost)
    for line in loan_queries.coming_home(loan):
        assert line.ready(date(2031, 6, 28))
        actions.release_line(by=archivist, line=line.line, findings="")
        actions.put_away(by=archivist, line=line.line)
    actions.close_loan(by=archivist, loan=loan)
    assert loan.state == Loan.State.CLOSED
    assert Standing.objects.get(piece=stage.coat).place == store.high
    assert Standing.objects.get(piece=stage.boots[0]).place == store.trunk
    assert queries.busy_piece_ids(date(2031, 6, 28), date(2031, 6, 28)) == set()
    assert HoldDay.objects.filter(day=date(2031, 6, 27)).count() == 3  # what was, stays written
    actions.close_call(by=cast.production, call=loan.call)
    verbs = [line.verb for line in lines_of(stage.coat.subject)][::-1]
    assert [verb for verb in verbs if verb in {"pulled", "went out", "signed out", "came back", "put away"}] == [
        "pulled", "went out", "signed out", "came back", "put away",
    ]  # fmt: skip


def test_no_line_of_the_history_holds_a_performers_name(cast: Cast, loan: Loan, out: Loan) -> None:
    wearer = loan.call.wearers.get()
    actions.edit_wearer(by=cast.production, wearer=wearer, name="Perpetua Q. Quillfeather", days=[date(2031, 6, 10)])
    actions.sign_out_piece(by=cast.set_costumer, line=line_of(out, "MOOR-0001"), wearer=wearer)
    everything = " ".join(
        f"{line.before} {line.after} {line.reason} {line.by_name}" for line in HistoryLine.objects.all()
    )
    assert "Quillfeather" not in everything
    assert lines_of(line_of(out, "MOOR-0001").piece.subject)[0].after["performer"] == "7"


# --- pulling ---------------------------------------------------------------------------------------------------------
def test_a_wrong_piece_is_refused_with_the_right_one_named(cast: Cast, stage: Stage, loan: Loan) -> None:
    with pytest.raises(Refused) as told:
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0003")
    assert told.value.sentence == (
        "This is MOOR-0003, coat. The list asks for MOOR-0001, at R1-B or MOOR-0002, at R1-B."
    )
    assert told.value.field == "code"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "Scan a label or type a piece number."),
        ("MOOR-9999", "No piece of ours has the code “MOOR-9999”."),
        ("P00042X", "P00042X has a wrong check character: a sign was misread or two were swapped. Look again."),
    ],
)
def test_what_is_no_piece_is_said_plainly(cast: Cast, loan: Loan, text: str, sentence: str) -> None:
    with pytest.raises(Refused) as told:
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number=text)
    assert told.value.sentence == sentence


def test_a_place_or_a_bare_blank_is_no_piece(cast: Cast, loan: Loan, store: Store) -> None:
    trunk = storage.issue_label(by=cast.archivist, place=store.trunk)
    with pytest.raises(Refused, match=r"TR-1 is a trunk, boot trunk: scan the piece itself\."):
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number=trunk.code)
    blank = storage.make_blanks(by=cast.archivist, count=1)[0]
    with pytest.raises(Refused, match="is not bound to a piece yet"):
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number=blank.code)


def test_pulling_twice_and_putting_back(cast: Cast, loan: Loan) -> None:
    line = actions.pull_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0001")
    with pytest.raises(WrongState, match="MOOR-0001 is pulled already"):
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0001")
    actions.put_back(by=cast.archivist, line=line)
    actions.pull_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0001")


def test_what_is_not_in_store_cannot_be_pulled(cast: Cast, stage: Stage, loan: Loan) -> None:
    storage.mark_missing(by=cast.archivist, piece=stage.coat, note="not on its hanger")
    with pytest.raises(WrongState, match="recorded as not found, not in store"):
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0001")


def test_a_substitute_needs_a_reason_and_must_be_free(
    cast: Cast, stage: Stage, loan: Loan, as_user: Callable[[Any], Client]
) -> None:
    other = stage.coats[2]
    other.materials.add(Material.objects.create(name="felted linen", family="cloth"))
    for_it = {"by": cast.archivist, "loan": loan, "code_or_number": "MOOR-0003", "substitute_for": stage.coat}
    with pytest.raises(Refused, match="Say why MOOR-0003 goes instead of MOOR-0001"):
        actions.pull_piece(**for_it)
    with pytest.raises(Refused, match="may not be worn"):
        actions.pull_piece(**for_it, reason="torn lining")
    care.decide_wear(
        by=cast.archivist, piece=other, decision="wear", decided_on=date(2031, 6, 1), decided_by_name="archivist"
    )
    elsewhere = make_firm(cast.production, [other], reference="JOB-2")
    with pytest.raises(AlreadyHeld, match="MOOR-0003 is firmly held by JOB-2"):
        actions.pull_piece(**for_it, reason="torn lining")
    assert line_of(loan, "MOOR-0001").state == "to pull"
    actions.release_hold(by=cast.production, hold=elsewhere, reason="fell through")
    line = actions.pull_piece(**for_it, reason="torn lining")
    assert (line.state, line.substitute_for, line.substitute_reason) == ("pulled", stage.coat, "torn lining")
    assert line_of(loan, "MOOR-0001").state == "left behind"
    assert "instead of MOOR-0001: torn lining" in text_of(as_user(cast.archivist).get(f"/loans/{loan.reference}/pull/"))
    assert not stage.coat.held_days.filter(day__gte=date(2031, 6, 8)).exists()
    assert other.held_days.filter(hold=loan.hold).count() == 21
    with pytest.raises(Refused, match="not waiting to be pulled"):
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0052", substitute_for=stage.coat)


def test_a_pencil_is_not_pulled_and_a_hold_is_pulled_once(cast: Cast, stage: Stage, store: Store, loan: Loan) -> None:
    pencil = actions.hold(
        by=cast.production, reference="P-1", for_whom="stills", pieces=[stage.coats[2]], use_from=date(2031, 8, 1),
        use_to=date(2031, 8, 2), strength="pencil",
    )  # fmt: skip
    with pytest.raises(WrongState, match="P-1 is a pencil: make it firm"):
        actions.start_loan(by=cast.archivist, hold=pencil)
    with pytest.raises(Refused, match="Nothing is left to pull"):
        actions.start_loan(by=cast.archivist, hold=loan.hold)


# --- leaving ---------------------------------------------------------------------------------------------------------
def test_what_stays_is_said_aloud_and_can_follow(cast: Cast, loan: Loan) -> None:
    actions.pull_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0001")
    with pytest.raises(Refused, match="Not pulled yet: MOOR-0002, MOOR-0051"):
        actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver")
    with pytest.raises(Refused, match="Write who takes"):
        actions.send_loan(by=cast.archivist, loan=loan, taken_by=" ")
    with pytest.raises(Refused, match="MOOR-0003 is not on this loan"):
        actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver", leave_behind=["MOOR-0003"])
    every = ["MOOR-0001", "MOOR-0002", "MOOR-0051"]
    with pytest.raises(Refused, match="a loan of no pieces cannot leave"):
        actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver", leave_behind=every)
    two = ["moor-0002", "MOOR-0051"]
    with pytest.raises(Refused, match="Say why they stay behind") as told:
        actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver", leave_behind=two, reason=" ")
    assert told.value.field == "reason"
    actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver", leave_behind=two, reason="truck is full")
    stayed = line_of(loan, "MOOR-0002")
    assert (stayed.state, stayed.result_note) == ("left behind", "truck is full")
    assert lines_of(stayed.piece.subject)[0].reason == "truck is full"
    assert lines_of(loan.subject)[0].reason == "1 day before JOB-1 begins; truck is full"
    after = actions.start_loan(by=cast.archivist, hold=loan.hold)
    assert after.reference == "MOOR-CALL-1-L2"
    assert sorted(line.piece.number for line in after.lines.select_related("piece")) == ["MOOR-0002", "MOOR-0051"]
    with pytest.raises(WrongState, match="is out"):
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0002")


def test_a_loan_that_never_left_can_be_called_off(cast: Cast, stage: Stage, loan: Loan) -> None:
    actions.pull_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0001")
    with pytest.raises(WrongState, match="is being pulled"):
        actions.close_loan(by=cast.archivist, loan=loan)
    actions.call_off_loan(by=cast.archivist, loan=loan, reason="rain")
    assert (loan.state, loan.out_on) == (Loan.State.CLOSED, None)
    assert stage.coat.held_days.exists()
    assert actions.start_loan(by=cast.archivist, hold=loan.hold).lines.count() == 3


def test_an_exhibition_needs_no_call(cast: Cast, stage: Stage, store: Store) -> None:
    held = make_firm(cast.production, [stage.coat], reference="MUSEUM-1")
    loan = actions.start_loan(by=cast.archivist, hold=held, due_on=date(2031, 6, 20))
    assert (loan.reference, loan.call, loan.due_on) == ("MUSEUM-1-L1", None, date(2031, 6, 20))
    pull_all(cast, loan)
    actions.send_loan(by=cast.archivist, loan=loan, taken_by="C. Courier")
    other = make_call(cast.production, stage)
    wearer = actions.add_wearer(by=cast.production, call=other, number="1", name="X")
    with pytest.raises(Refused, match="not on the list of this loan's call"):
        actions.sign_out_piece(by=cast.set_costumer, line=line_of(loan, "MOOR-0001"), wearer=wearer)


# --- on set ----------------------------------------------------------------------------------------------------------
def test_signing_out_twice_is_refused(cast: Cast, out: Loan) -> None:
    line, wearer = line_of(out, "MOOR-0001"), out.call.wearers.get()
    actions.sign_out_piece(by=cast.set_costumer, line=line, wearer=wearer)
    with pytest.raises(WrongState, match="signed out to performer 7 already"):
        actions.sign_out_piece(by=cast.set_costumer, line=line, wearer=wearer)
    actions.sign_in_piece(by=cast.set_costumer, line=line)
    with pytest.raises(WrongState, match="is not signed out"):
        actions.sign_in_piece(by=cast.set_costumer, line=line)


# --- coming home -----------------------------------------------------------------------------------------------------
def test_returning_what_never_left(cast: Cast, stage: Stage, loan: Loan) -> None:
    back = {"by": cast.archivist, "loan": loan, "result": "as sent"}
    with pytest.raises(WrongState, match="MOOR-0001 never left with MOOR-CALL-1-L1: it is to pull"):
        actions.return_piece(**back, code_or_number="MOOR-0001")
    with pytest.raises(Refused, match=r"MOOR-0003, coat\. It is not on MOOR-CALL-1-L1 and no loan has it"):
        actions.return_piece(**back, code_or_number="MOOR-0003")
    with pytest.raises(Refused, match=r"No piece of ours has the code “BOX 9”\. Set it apart and ask whose it is\."):
        actions.return_piece(**back, code_or_number="BOX 9")


def test_a_piece_of_another_loan_is_named(cast: Cast, stage: Stage, out: Loan) -> None:
    other = actions.start_loan(by=cast.archivist, hold=make_firm(cast.production, [stage.coats[2]], reference="JOB-2"))
    with pytest.raises(Refused, match="it is out on MOOR-CALL-1-L1 to Pick-up unit: return it there"):
        actions.return_piece(by=cast.archivist, loan=other, code_or_number="MOOR-0001", result="as sent")


def test_parts_are_counted_one_by_one(cast: Cast, out: Loan) -> None:
    back = {"by": cast.archivist, "loan": out, "code_or_number": "MOOR-0051"}
    with pytest.raises(Refused, match=r"Count the parts of MOOR-0051: L \(left boot\), R \(right boot\)"):
        actions.return_piece(**back, result="as sent")
    with pytest.raises(Refused, match=r"came without R \(right boot\): it is incomplete"):
        actions.return_piece(**back, result="as sent", parts_back=["L"])
    with pytest.raises(Refused, match="did not leave with a part z"):
        actions.return_piece(**back, result="as sent", parts_back=["L", "R", "Z"])
    with pytest.raises(Refused, match="Say what changed or what is missing"):
        actions.return_piece(**back, result="incomplete", parts_back=["L"])
    line = actions.return_piece(**back, result="as sent", parts_back=["l", "R"])
    assert [part.back for part in line.parts.all()] == [True, True]
    with pytest.raises(WrongState, match="MOOR-0051 is back already: in quarantine"):
        actions.return_piece(**back, result="as sent", parts_back=["L", "R"])


def test_what_did_not_come_back_may_still_arrive(cast: Cast, stage: Stage, store: Store, out: Loan) -> None:
    line = line_of(out, "MOOR-0001")
    with pytest.raises(Refused, match="Say what is known"):
        actions.mark_not_back(by=cast.archivist, line=line, note="")
    actions.mark_not_back(by=cast.archivist, line=line, note="night count, tent 2")
    assert Standing.objects.get(piece=stage.coat).state == "not found"
    assert loan_queries.open_sentence(out) == "MOOR-0002, MOOR-0051 are out"
    actions.return_piece(by=cast.archivist, loan=out, code_or_number="MOOR-0001", result="as sent")
    standing = Standing.objects.get(piece=stage.coat)
    assert (standing.state, standing.place) == ("in store", store.quarantine)


def test_an_alteration_is_undone_before_the_shelf(cast: Cast, stage: Stage, out: Loan) -> None:
    alteration = care.alter(
        by=cast.wardrobe_lead, piece=stage.coat, what="sleeve let down", done_on=date(2031, 6, 1), done_by_name="W"
    )
    line = actions.return_piece(by=cast.archivist, loan=out, code_or_number="MOOR-0001", result="as sent")
    with pytest.raises(Refused, match="write what was looked at and found"):
        actions.release_line(by=cast.archivist, line=line)
    actions.release_line(by=cast.archivist, line=line, findings="frozen, no pests")
    with pytest.raises(Refused, match=r"still altered \(sleeve let down\): undo it first"):
        actions.put_away(by=cast.archivist, line=line)
    with pytest.raises(WrongState, match="cannot close"):
        actions.close_loan(by=cast.archivist, loan=out)
    care.undo_alteration(by=cast.wardrobe_lead, alteration=alteration, undone_on=date(2031, 6, 7))
    assert actions.put_away(by=cast.archivist, line=line).state == "put away"


@pytest.mark.parametrize("duty", ["production", "visitor"])
def test_who_may_not_touch_a_loan(cast: Cast, loan: Loan, duty: str) -> None:
    who = getattr(cast, duty)
    with pytest.raises(NotAllowed):
        actions.pull_piece(by=who, loan=loan, code_or_number="MOOR-0001")
    with pytest.raises(NotAllowed):
        actions.return_piece(by=who, loan=loan, code_or_number="MOOR-0001", result="as sent")
    with pytest.raises(NotAllowed):
        actions.put_away(by=cast.wardrobe_lead, line=line_of(loan, "MOOR-0001"))


def test_the_pull_list_says_what_may_not_be_worn(cast: Cast, stage: Stage, loan: Loan) -> None:
    """Unknown is no yes: a coat that nobody decided on is marked at the shelf; an exhibition is not asked."""
    assert all(row.wear_no for row in loan_queries.pull_list(loan))
    stage.coat.materials.add(Material.objects.create(name="felted linen", family="cloth"))
    care.decide_wear(
        by=cast.archivist, piece=stage.coat, decision="wear with limits", limits="short takes",
        decided_on=date(2031, 6, 1), decided_by_name="archivist",
    )  # fmt: skip
    first = loan_queries.pull_list(loan)[0]
    assert (first.line.piece, first.wear_no) == (stage.coat, ())
    assert any("short takes" in sentence for sentence in first.wear_conditions)
    actions.set_need(by=cast.production, call=loan.call, role=stage.piper, count=0)
    loan.refresh_from_db()
    assert not any(row.wear_no for row in loan_queries.pull_list(loan))
