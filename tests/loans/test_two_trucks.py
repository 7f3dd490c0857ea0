"""A call whose pieces leave with two trucks: the rest follows while the first loan is out; what is early is said."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.test import Client

from catalog.care import actions as care
from catalog.core.errors import AlreadyHeld, Refused, WrongState
from catalog.core.history import lines_of
from catalog.fitting import actions as fitting
from catalog.loans import actions
from catalog.loans.models import Call, HoldDay, Loan
from catalog.pieces import actions as pieces
from catalog.storage import actions as storage
from tests.cast import Cast
from tests.loans.world import Stage, Store, make_call, make_firm
from tests.reading import text_of

AsUser = Callable[[Any], Client]
CALL = "/calls/MOOR-CALL-1/"
LOAN = "/loans/MOOR-CALL-1-L1/"


def act_of(response: Any) -> str:
    """The words of the one filled button."""
    page = text_of(response)
    if 'class="act"' not in page:
        return ""
    return page.split('class="act"', 1)[1].split(">", 1)[1].split("<", 1)[0].strip()


def answer_of(response: Any) -> str:
    return text_of(response).split("<h1", 1)[1].split(">", 1)[1].split("</h1>", 1)[0].strip()


def pull(cast: Cast, loan: Loan, *numbers: str) -> None:
    for number in numbers:
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number=number)


def bring_home(cast: Cast, loan: Loan) -> None:
    """Count all back, release, put away and close."""
    for line in loan.lines.filter(state="out").select_related("piece"):
        parts = [row.part.letter for row in line.parts.select_related("part")] or None
        actions.return_piece(
            by=cast.archivist, loan=loan, code_or_number=line.piece.number, result="as sent", parts_back=parts
        )
    for line in loan.lines.filter(state="quarantined"):
        actions.release_line(by=cast.archivist, line=line, findings="clean")
        actions.put_away(by=cast.archivist, line=line)
    actions.close_loan(by=cast.archivist, loan=loan)


def test_the_call_knows_its_state_and_next_act_all_the_way(
    cast: Cast, loan: Loan, call: Call, as_user: AsUser, clock: Any
) -> None:
    client = as_user(cast.wardrobe_lead)

    def stands() -> tuple[str, str]:
        page = client.get(CALL)
        return answer_of(page), act_of(page)

    # An unfinished pull goes before the plan that was never made.
    assert stands() == ("MOOR-CALL-1-L1 is being pulled: 3 pieces are held.", "Pull the pieces")
    pull(cast, loan, "MOOR-0001")
    assert stands() == ("1 piece is pulled and 2 are held.", "Pull the pieces")
    sent = client.post(
        f"{LOAN}send/", {"taken_by": "B. Driver", "out_on": "2031-06-07", "leaving": "2", "reason": "truck is full"},
        follow=True,
    )  # fmt: skip
    assert "2 stayed behind and can follow on a loan of their own." in text_of(sent)
    assert stands() == ("1 piece is out and 2 are held.", "Pull the 2 left behind")
    page = client.get("/holds/JOB-1/")
    assert act_of(page) == "Start a further pull of 2 pieces"
    assert "MOOR-CALL-1-L1</a> out" in text_of(page)

    assert client.post("/holds/JOB-1/start-loan/").url == "/loans/MOOR-CALL-1-L2/pull/"
    second = Loan.objects.get(reference="MOOR-CALL-1-L2")
    assert stands() == ("1 piece is out and 2 are held.", "Pull the pieces")
    pull(cast, second, "MOOR-0002")
    assert stands()[0] == "1 piece is out, 1 is pulled and 1 is held."
    behind = ["MOOR-0051"]
    actions.send_loan(by=cast.archivist, loan=second, taken_by="C. Driver", leave_behind=behind, reason="not needed")
    assert stands() == ("2 pieces are out and 1 is held.", "Pull the 1 left behind")

    clock.move_to("2031-06-13 09:00Z")  # the days of use are over: what never left is not needed any more
    client = as_user(cast.wardrobe_lead)
    assert stands() == ("2 pieces are out and 1 is held.", "Bring it home")
    bring_home(cast, loan)
    assert stands() == ("1 piece is out, 1 is held and 1 is home.", "Bring it home")
    bring_home(cast, second)
    assert stands() == ("1 piece is held and 2 are home.", "Release the 1 never sent")
    with pytest.raises(WrongState, match="The call cannot close: JOB-1 still keeps pieces for it: release it first"):
        actions.close_call(by=cast.production, call=call)
    actions.release_hold(by=cast.production, hold=loan.hold, reason="not needed")
    assert stands() == ("Everything that left is home or accounted for.", "Close this call")
    client.post(f"{CALL}close/")
    assert stands() == ("MOOR-CALL-1 is closed.", "")


def test_a_pencil_keeps_the_call_open_until_it_is_released_or_lapses(
    cast: Cast, stage: Stage, call: Call, clock: Any, as_user: AsUser
) -> None:
    actions.hold(
        by=cast.production, reference="P-1", for_whom="x", pieces=stage.coats, use_from=call.load_on,
        use_to=call.back_on, strength="pencil", call=call,
    )  # fmt: skip
    assert answer_of(as_user(cast.production).get(CALL)) == "2 performers are asked for; 3 pieces are pencilled."
    assert "pencilled" in text_of(as_user(cast.production).get("/calls/"))
    with pytest.raises(WrongState, match="P-1 still keeps pieces"):
        actions.close_call(by=cast.production, call=call)
    clock.move_to("2031-06-21 09:00Z")
    actions.close_call(by=cast.production, call=call)


def test_who_may_not_pull_is_not_sent_to_pull(cast: Cast, loan: Loan, as_user: AsUser) -> None:
    assert act_of(as_user(cast.production).get(CALL)) != "Pull the pieces"
    actions.call_off_loan(by=cast.archivist, loan=loan, reason="rain")
    assert act_of(as_user(cast.production).get(CALL)) != "Start the pull"


# --- leaving the rest behind -----------------------------------------------------------------------------------------
def test_the_rest_stays_behind_in_one_act_with_one_reason(cast: Cast, loan: Loan, as_user: AsUser) -> None:
    pull(cast, loan, "MOOR-0001")
    client = as_user(cast.archivist)
    page = client.get(f"{LOAN}send/")
    assert act_of(page) == "Send only what is pulled; leave 2 behind"
    assert "MOOR-0051" in text_of(page)
    assert 'type="checkbox"' not in text_of(page)
    facts = {"taken_by": "B. Driver", "out_on": "2031-06-07", "leaving": "2", "reason": ""}
    answer = client.post(f"{LOAN}send/", facts)
    assert answer.status_code == 422
    assert "Say why they stay behind." in text_of(answer)
    pull(cast, loan, "MOOR-0002")
    stale = client.post(f"{LOAN}send/", facts | {"reason": "truck is full"})
    assert "Meanwhile 1 is not pulled, not 2. Look again." in text_of(stale)
    assert loan.lines.filter(state="out").count() == 0
    done = client.post(f"{LOAN}send/", facts | {"leaving": "1", "reason": "truck is full"})
    assert done.status_code == 302
    assert loan.lines.get(state="left behind").result_note == "truck is full"


# --- before the hold begins ------------------------------------------------------------------------------------------
def test_leaving_before_the_hold_is_said_and_takes_the_days(
    cast: Cast, loan: Loan, as_user: AsUser, clock: Any
) -> None:
    clock.move_to("2031-06-05 09:00Z")
    pull(cast, loan, "MOOR-0001", "MOOR-0002", "MOOR-0051")
    client = as_user(cast.archivist)
    page = text_of(client.get(f"{LOAN}send/"))
    assert "To leave today is 3 days before JOB-1 begins; the hold takes those days too." in page
    told = client.post(f"{LOAN}send/", {"taken_by": "B. Driver", "out_on": "2031-06-05"}, follow=True)
    assert "MOOR-CALL-1-L1 is out, taken by B. Driver, 3 days before JOB-1 begins." in text_of(told)
    assert lines_of(loan.subject)[0].reason == "3 days before JOB-1 begins"
    assert HoldDay.objects.filter(hold=loan.hold, day__lt=loan.hold.starts).count() == 9
    coat = loan.lines.get(piece__number="MOOR-0001").piece
    with pytest.raises(AlreadyHeld, match="MOOR-0001 is firmly held by JOB-1"):
        actions.hold(
            by=cast.production, reference="X-1", for_whom="x", pieces=[coat], use_from=date(2031, 6, 5),
            use_to=date(2031, 6, 6), days_after=0, strength="firm", confirmed_by="A",
        )  # fmt: skip


def test_leaving_into_another_jobs_days_is_refused(
    cast: Cast, stage: Stage, loan: Loan, as_user: AsUser, clock: Any
) -> None:
    clock.move_to("2031-06-04 09:00Z")
    other = actions.hold(
        by=cast.production, reference="OTHER-1", for_whom="Fen unit", pieces=[stage.coat], use_from=date(2031, 6, 5),
        use_to=date(2031, 6, 6), days_after=0, strength="firm", confirmed_by="X",
    )  # fmt: skip
    pull(cast, loan, "MOOR-0001", "MOOR-0002", "MOOR-0051")
    client = as_user(cast.archivist)
    named = "MOOR-0001 is held by OTHER-1 for Fen unit from 5 Jun 2031 to 6 Jun 2031."
    assert named in text_of(client.get(f"{LOAN}send/"))
    answer = client.post(f"{LOAN}send/", {"taken_by": "B. Driver", "out_on": "2031-06-04"})
    assert answer.status_code == 422
    assert "MOOR-0001 is firmly held by OTHER-1 for Fen unit from 5 Jun 2031 to 6 Jun 2031." in text_of(answer)
    assert not loan.lines.filter(state="out").exists()
    assert not HoldDay.objects.filter(hold=loan.hold, day__lt=loan.hold.starts).exists()
    actions.release_hold(by=cast.production, hold=other, reason="fell through")
    assert client.post(f"{LOAN}send/", {"taken_by": "B. Driver", "out_on": "2031-06-04"}).status_code == 302


def test_the_calls_own_other_hold_does_not_stand_in_its_way(
    cast: Cast, stage: Stage, call: Call, loan: Loan, clock: Any
) -> None:
    clock.move_to("2031-06-04 09:00Z")
    actions.hold(
        by=cast.production, reference="FIT-1", for_whom="fittings", pieces=[stage.coat], use_from=date(2031, 6, 5),
        use_to=date(2031, 6, 6), days_after=0, strength="firm", confirmed_by="X", call=call,
    )  # fmt: skip
    pull(cast, loan, "MOOR-0001", "MOOR-0002", "MOOR-0051")
    actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver")
    assert set(stage.coat.held_days.filter(hold__reference="FIT-1").values_list("day", flat=True)) == {
        date(2031, 6, 5), date(2031, 6, 6),
    }  # fmt: skip
    assert stage.coat.held_days.filter(hold=loan.hold, day__in=[date(2031, 6, 4), date(2031, 6, 7)]).count() == 2


def test_early_days_are_given_back_when_it_comes_home_early(cast: Cast, stage: Stage, loan: Loan, clock: Any) -> None:
    clock.move_to("2031-06-04 09:00Z")
    pull(cast, loan, "MOOR-0001", "MOOR-0002", "MOOR-0051")
    actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver")
    clock.move_to("2031-06-06 09:00Z")
    bring_home(cast, loan)
    days = set(stage.coat.held_days.values_list("day", flat=True))
    assert days == {date(2031, 6, 4), date(2031, 6, 5)}  # what was, stays written


# --- a trunk is scanned ----------------------------------------------------------------------------------------------
def test_a_scanned_trunk_says_what_of_the_list_lies_in_it_and_gives_it(
    cast: Cast, stage: Stage, store: Store, loan: Loan, as_user: AsUser
) -> None:
    client = as_user(cast.archivist)
    label = storage.issue_label(by=cast.archivist, place=store.trunk)
    for code in ("tr-1", label.code, f"HTTPS://HOST/Q/{label.code}/"):
        page = text_of(client.post(f"{LOAN}pull/", {"code": code}))
        assert "TR-1 is a trunk, boot trunk. 1 piece of this list lies in it:" in page
        assert "Take it" in page
        assert "No piece of ours" not in page
    swapped = text_of(client.post(f"{LOAN}pull/", {"code": "R1"}, headers={"hx-request": "true"}))
    assert "R1 is a room, Long room. 3 pieces of this list lie in it:" in swapped
    assert "Take these 3" in swapped
    assert not loan.lines.filter(state="pulled").exists()
    took = client.post(f"{LOAN}pull/", {"inside": "TR-1"}, follow=True)
    assert "1 taken from TR-1: MOOR-0051." in text_of(took)
    assert "Nothing that is still to pull lies in it" in text_of(client.post(f"{LOAN}pull/", {"code": "TR-1"}))
    with pytest.raises(Refused, match=r"TR-1 is a trunk, boot trunk\. Nothing that is still to pull lies in it\."):
        actions.pull_from(by=cast.archivist, loan=loan, place=store.trunk)


def test_what_may_not_be_taken_stays_and_is_named(cast: Cast, stage: Stage, store: Store, loan: Loan) -> None:
    care.open_quarantine(
        by=cast.archivist, piece=stage.coats[1], opened_on=date(2031, 6, 7), due_on=date(2031, 6, 20), reason="moth"
    )
    taken, refused = actions.pull_from(by=cast.archivist, loan=loan, place=store.high)
    assert [line.piece.number for line in taken] == ["MOOR-0001"]
    assert len(refused) == 1
    assert "MOOR-0002" in refused[0]


# --- the printed list ------------------------------------------------------------------------------------------------
def test_the_printed_list_carries_what_goes_and_its_values_for_those_who_may_see(
    cast: Cast, stage: Stage, loan: Loan, as_user: AsUser
) -> None:
    for piece, amount in ((stage.coats[0], "300"), (stage.coats[0], "450"), (stage.coats[1], "999")):
        pieces.value_piece(by=cast.archivist, piece=piece, amount=amount, currency="EUR", valued_on=date(2031, 1, 1))
    pull(cast, loan, "MOOR-0001", "MOOR-0051")
    before = text_of(as_user(cast.archivist).get(f"{LOAN}list/"))
    assert "2 pieces for Pick-up unit." in before
    assert "MOOR-0002" not in before.split("Not pulled yet")[0]
    actions.send_loan(
        by=cast.archivist, loan=loan, taken_by="B. Driver", leave_behind=["MOOR-0002"], reason="truck is full"
    )
    page = text_of(as_user(cast.archivist).get(f"{LOAN}list/"))
    goes, stays = page.split("Left behind, not part of this loan")
    assert "2 pieces for Pick-up unit." in goes
    assert "MOOR-0002" not in goes
    assert "Value of what goes: EUR 450; 1 piece is not valued." in goes
    assert "300" not in goes
    assert "999" not in page
    assert "MOOR-0002" in stays
    assert "truck is full" in stays
    costumer = text_of(as_user(cast.set_costumer).get(f"{LOAN}list/"))
    assert "450" not in costumer
    assert "Value" not in costumer


# --- history ---------------------------------------------------------------------------------------------------------
def test_reads_of_size_sheets_are_one_line_on_the_page_and_many_in_the_chain(
    cast: Cast, stage: Stage, call: Call, as_user: AsUser, clock: Any
) -> None:
    before = lines_of(call.subject).count()
    for _ in range(14):
        fitting.note_reading(by=cast.wardrobe_lead, call=call, number=2)
    clock.move_to("2031-06-07 15:02Z")
    fitting.note_reading(by=cast.wardrobe_lead, call=call, number=2)
    assert lines_of(call.subject).count() == before + 15
    page = text_of(as_user(cast.production).get(CALL))
    assert page.count("size sheets") == 1
    assert "read the size sheets 15 times, last 15:02" in page
    assert "took the call" in page


def test_the_calls_page_asks_the_same_however_long(
    cast: Cast, stage: Stage, loan: Loan, call: Call, as_user: AsUser, django_assert_max_num_queries: Any
) -> None:
    make_firm(cast.production, [stage.coats[2]], call, "JOB-2")
    make_call(cast.production, stage, reference="ELSE")
    client = as_user(cast.archivist)
    with django_assert_max_num_queries(20):
        assert client.get(CALL).status_code == 200
