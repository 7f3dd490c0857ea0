"""The pages of calls, holds and loans: who gets in, what they say, and that a whole job can be done by plain posts."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from catalog.access.permissions import ADDRESSES, Ability
from catalog.loans import actions
from catalog.loans.models import Call, Hold, Loan, LoanLine
from catalog.storage.models import Standing
from tests.cast import Cast
from tests.loans.world import Stage, Store, decide, make_call, make_firm
from tests.reading import text_of

AsUser = Callable[[Any], Client]
CALL = ["MOOR-CALL-1"]
LOAN = ["MOOR-CALL-1-L1"]
# Every page that is read, with the arguments of its address.
PAGES = {
    "loans:calls": [],
    "loans:take_call": [],
    "loans:edit_call": CALL,
    "loans:needs": CALL,
    "loans:wearers": CALL,
    "loans:edit_wearer": [*CALL, "7"],
    "loans:holds": [],
    "loans:make_hold": [],
    "loans:along_time": [],
    "loans:hold": ["JOB-1"],
    "loans:firm_up": ["JOB-1"],
    "loans:release": ["JOB-1"],
    "loans:loans": [],
    "loans:loan": LOAN,
    "loans:loan_list": LOAN,
    "loans:pull": LOAN,
    "loans:gap_cards": LOAN,
    "loans:papers": LOAN,
    "loans:hold_note": ["JOB-1"],
    "loans:agreement": LOAN,
    "loans:sign_out_sheet": LOAN,
    "loans:sign_out_production": LOAN,
    "desk:pull_paper": LOAN,
    "loans:costs": LOAN,
    "loans:costs_csv": LOAN,
    "desk:pull_csv": LOAN,
    "loans:send": LOAN,
    "loans:call_off": LOAN,
    "loans:on_set": LOAN,
    "loans:count_back": LOAN,
    "loans:note_scene": LOAN,
    "loans:how_worn": [],
    "loans:set_shell": [],
    "loans:on_set_performer": [*LOAN, "7"],
    "loans:return": LOAN,
    "loans:not_ours": LOAN,
    "loans:not_back": [*LOAN, "MOOR-0001"],
    "loans:compare": [*LOAN, "MOOR-0001"],
    "loans:put_away": LOAN,
    "desk:call": CALL,
    "desk:hold_call": CALL,
}
POSTS = {
    "loans:remove_wearer": [*CALL, "7"],
    "loans:close_call": CALL,
    "loans:put_back": LOAN,
    "loans:part_home": [*LOAN, "MOOR-0051"],
    "loans:close": LOAN,
    "loans:set_send": LOAN,
    "desk:start_loan": ["JOB-1"],
}


# They need a row of their own: test_unlisted.py, test_scenes.py, test_on_set_silent.py, all beside this file.
TRIED_ELSEWHERE = {
    # tests/loans/test_condition.py
    "loans:condition", "loans:condition_piece", "loans:sign_condition",
    "loans:set_worker",
    "loans:scene_picture", "loans:hand_over", "loans:unlisted_picture",
    # tests/loans/test_costs.py
    "loans:strike_cost",
    # They need a report that somebody began: tests/loans/test_report_paper.py.
    "loans:out_report", "loans:in_report",
    # They need a loan that is out: tests/loans/test_set_papers.py and test_loss_paper.py.
    "loans:count_back_sheet", "loans:count_back_table", "loans:loss_list", "loans:loss_csv",
}  # fmt: skip


def test_every_address_of_the_room_is_tried() -> None:
    ours = {name for name in ADDRESSES if name.startswith("loans:")}
    assert ours - TRIED_ELSEWHERE == {name for name in {**PAGES, **POSTS} if name.startswith("loans:")}


@pytest.mark.parametrize("name", [*PAGES, *POSTS])
def test_each_duty_gets_what_the_table_says(name: str, cast: Cast, loan: Loan, as_user: AsUser) -> None:
    url = reverse(name, args={**PAGES, **POSTS}[name])
    needed = ADDRESSES[name]
    assert isinstance(needed, Ability)
    stranger = as_user(None).get(url)
    assert (stranger.status_code, stranger.url.split("?")[0]) == (302, "/sign-in/")
    for person in cast.everyone():
        allowed = bool({group.name for group in person.groups.all()} & {duty.value for duty in needed.duties})
        answer = as_user(person).get(url)
        expected = (200 if name in PAGES else 405) if allowed else 403
        assert answer.status_code == expected, (name, person, answer.status_code)
        if allowed and answer["Content-Type"] == "application/pdf":
            assert answer.content.startswith(b"%PDF")
        elif allowed and name in PAGES and answer["Content-Type"].startswith("text/html"):
            assert answer.content.count(b'class="act"') <= 1
            assert answer.content.count(b"<h1") == 1


@pytest.mark.parametrize("name", ["loans:hold", "loans:loan", "desk:call"])
def test_what_is_not_there_is_a_404(name: str, cast: Cast, as_user: AsUser) -> None:
    assert as_user(cast.archivist).get(reverse(name, args=["nothing"])).status_code == 404


@pytest.mark.parametrize(
    ("name", "most"),
    [("loans:calls", 9), ("loans:holds", 8), ("loans:loans", 8), ("loans:loan", 14), ("loans:pull", 40)],
)
def test_lists_ask_the_same_however_long(
    name: str, most: int, cast: Cast, stage: Stage, loan: Loan, as_user: AsUser, django_assert_max_num_queries: Any
) -> None:
    for n in range(12):
        call = make_call(cast.production, stage, reference=f"LONG-{n}")
        actions.set_need(by=cast.production, call=call, role=stage.piper, count=2)
        actions.hold(
            by=cast.production, reference=f"PEN-{n}", for_whom="x", pieces=stage.coats, use_from=date(2031, 6, 10),
            use_to=date(2031, 6, 10), strength="pencil",
        )  # fmt: skip
    client = as_user(cast.archivist)
    with django_assert_max_num_queries(most):
        assert client.get(reverse(name, args=PAGES[name])).status_code == 200


# --- calls -----------------------------------------------------------------------------------------------------------
CALL_FORM = {
    "reference": "FEN-2", "title": "Stills on the fen", "purpose": "stills", "where": "A fen",
    "received_on": "2026-05-02",
    "first_day": "2031-07-01", "last_day": "2031-07-02", "load_on": "2031-06-30", "back_on": "2031-07-03",
}  # fmt: skip


def test_a_call_is_taken_and_filled_by_pages(cast: Cast, stage: Stage, as_user: AsUser) -> None:
    client = as_user(cast.production)
    facts = CALL_FORM | {"production": stage.production.pk}
    assert client.post("/take-a-call/", facts).url == "/calls/FEN-2/how-many/"
    assert client.post("/calls/FEN-2/how-many/", {f"role_{stage.piper.pk}": "4"}).url == "/calls/FEN-2/"
    listed = {"number": "1", "name": "Barnaby Rushlight", "days": ["2031-07-01"]}
    assert client.post("/calls/FEN-2/performers/", listed).status_code == 302
    page = text_of(client.get("/calls/FEN-2/"))
    assert "4 performers are asked for; nothing is firmly held yet." in page
    assert "Barnaby Rushlight" in page
    assert "Tue 1 Jul" in page
    assert client.post("/calls/FEN-2/performers/1/", {"name": "B. R.", "minor": "on"}).status_code == 302
    assert "under 18" in text_of(client.get("/calls/FEN-2/performers/"))
    client.post("/calls/FEN-2/performers/1/off/")
    assert not Call.objects.get().wearers.exists()


def test_a_bad_call_names_the_field_and_keeps_what_was_typed(cast: Cast, stage: Stage, as_user: AsUser) -> None:
    facts = CALL_FORM | {"production": stage.production.pk, "last_day": "2031-06-01", "reference": "FEN 2"}
    answer = as_user(cast.production).post("/take-a-call/", facts)
    assert answer.status_code == 422
    assert "letters, digits, dots and dashes" in text_of(answer)
    assert 'value="Stills on the fen"' in text_of(answer)
    answer = as_user(cast.production).post("/take-a-call/", facts | {"reference": "FEN-2"})
    assert "The last day comes on or after the first day." in text_of(answer)
    assert "that is no day. Give it like 8 Sep 2026" in text_of(
        as_user(cast.production).post("/take-a-call/", facts | {"first_day": "soon"})
    )
    assert not Call.objects.exists()


def test_a_set_costumer_reads_the_list_and_cannot_change_it(cast: Cast, call: Call, as_user: AsUser) -> None:
    client = as_user(cast.set_costumer)
    assert "Add this performer" not in text_of(client.get("/calls/MOOR-CALL-1/performers/"))
    assert client.post("/calls/MOOR-CALL-1/performers/", {"number": "9", "name": "X"}).status_code == 403
    assert call.wearers.count() == 1


# --- holds -----------------------------------------------------------------------------------------------------------
HOLD_FORM = {
    "pieces": "moor-0001, MOOR-0002\nMOOR-0003 MOOR-0001", "for_whom": "Museum", "reference": "M-1",
    "use_from": "2031-06-10", "use_to": "2031-06-12", "days_before": "0", "days_after": "14", "strength": "pencil",
}  # fmt: skip


def test_a_hold_is_made_firmed_up_and_released_by_pages(cast: Cast, store: Store, as_user: AsUser) -> None:
    client = as_user(cast.production)
    assert client.post("/hold-pieces/", HOLD_FORM).url == "/holds/M-1/"
    assert "3 pieces are pencilled for Museum." in text_of(client.get("/holds/M-1/"))
    assert client.post("/holds/M-1/firm-up/", {"confirmed_by": ""}).status_code == 422
    assert client.post("/holds/M-1/firm-up/", {"confirmed_by": "A. Producer"}).url == "/holds/M-1/"
    page = text_of(client.get("/holds/M-1/"))
    assert "3 pieces are firmly held for Museum." in page
    assert "Start the pull" not in page  # production holds; it does not pull
    assert "Start the pull" in text_of(as_user(cast.archivist).get("/holds/M-1/"))
    piece = Hold.objects.get().pieces.get(piece__number="MOOR-0002").piece
    assert client.post("/holds/M-1/release/", {"reason": "smaller show"}).status_code == 422
    assert client.post("/holds/M-1/release/", {"pieces": [piece.pk], "reason": "smaller show"}).status_code == 302
    assert "2 pieces are firmly held" in text_of(client.get("/holds/M-1/"))


def test_a_clash_shows_both_jobs_the_days_and_the_ways_out(
    cast: Cast, stage: Stage, store: Store, as_user: AsUser
) -> None:
    for coat in stage.coats:
        decide(cast.archivist, coat)
    actions.hold(
        by=cast.production, reference="JOB-9", for_whom="Fen unit", pieces=stage.coats[:1], use_from=date(2031, 6, 20),
        use_to=date(2031, 6, 25), days_after=5, strength="firm", confirmed_by="X", notice_days=14,
    )  # fmt: skip
    firm = HOLD_FORM | {"strength": "firm", "confirmed_by": "A. Producer", "pieces": "MOOR-0001"}
    page = text_of(as_user(cast.production).post("/hold-pieces/", firm))
    assert "MOOR-0001 is firmly held by JOB-9 for Fen unit from 20 Jun 2031 to 26 Jun 2031." in page
    assert "JOB-9</a> for Fen unit (firm) has MOOR-0001 on 20 Jun 2031 to 26 Jun 2031, buffers included." in page
    assert "Take another of the kind that is free on all these days: MOOR-0002, MOOR-0003." in page
    assert "Ask Fen unit by 27 May 2031 for an early release: 14 days of notice before the days begin on 10 Jun" in page
    assert "That day has passed: ask for the days after 10 Jun 2031, or a favour." in page
    assert "these pieces are free from 1 Jul 2031" in page
    assert "Museum" in page  # what was typed stays
    as_user(cast.production).post("/hold-pieces/", firm | {"strength": "pencil"})
    assert "clash" in text_of(as_user(cast.production).get("/holds/"))


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"pieces": "MOOR-0001 MOOR-9999"}, "No piece and no set is called MOOR-9999."),
        ({"pieces": " "}, "Choose at least one piece to hold."),
        ({"use_to": "2031-06-09"}, "The last day comes on or after the first day."),
        ({"use_from": "2030-06-10", "use_to": "2030-06-12"}, "These days have passed. Look at the year."),
        ({"strength": "firm"}, "A firm hold needs the name of who authorised it."),
        ({"lapses_on": "2031-06-07"}, "a pencil is gone on the day it lapses"),
    ],
)
def test_a_bad_hold_is_refused_at_its_field(
    change: dict[str, str], sentence: str, cast: Cast, store: Store, as_user: AsUser
) -> None:
    answer = as_user(cast.production).post("/hold-pieces/", HOLD_FORM | change)
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert not Hold.objects.exists()


# --- the whole job by pages ------------------------------------------------------------------------------------------
def test_a_loan_from_pull_to_close_by_plain_posts(
    cast: Cast, stage: Stage, store: Store, call: Call, as_user: AsUser, clock: Any
) -> None:
    make_firm(cast.production, [*stage.coats[:2], stage.boots[0]], call)
    lead, costumer, archivist = as_user(cast.wardrobe_lead), as_user(cast.set_costumer), as_user(cast.archivist)
    assert lead.post("/holds/JOB-1/start-loan/").url == "/loans/MOOR-CALL-1-L1/pull/"
    base = "/loans/MOOR-CALL-1-L1/"
    page = text_of(lead.get(f"{base}pull/"))
    assert "3 pieces left to pull." in page
    assert "in TR-1, at R1-A" in page
    assert "steps needed" in page
    wrong = lead.post(f"{base}pull/", {"code": "MOOR-0003"})
    assert wrong.status_code == 422
    assert "This is MOOR-0003, coat. The list asks for MOOR-0001, at R1-B" in text_of(wrong)
    part = lead.post(f"{base}pull/", {"code": "MOOR-0001"}, follow=True)
    assert "MOOR-0001 coat: taken." in text_of(part)
    assert "2 pieces left to pull." in text_of(part)
    for number in ("MOOR-0002", "MOOR-0051"):
        lead.post(f"{base}pull/", {"code": number})
    lead.post(f"{base}pull/put-back/", {"number": "MOOR-0002"})
    unsaid = lead.post(f"{base}send/", {"taken_by": "B. Driver", "out_on": "2031-06-07", "reason": "x"})
    assert "Not pulled yet: MOOR-0002." in text_of(unsaid)
    lead.post(f"{base}pull/", {"code": "MOOR-0002"})
    assert lead.post(f"{base}send/", {"taken_by": "B. Driver", "out_on": "2031-06-07"}).url == base
    assert "3 pieces are out with Pick-up unit." in text_of(lead.get(base))

    decide(cast.archivist, stage.coat)
    costumer.post(f"{base}on-set/", {"code": "MOOR-0001", "wearer": "7"})
    page = text_of(costumer.get(f"{base}on-set/"))
    assert "1 piece is still on someone." in page
    assert "Perpetua Quillfeather" in page
    twice = costumer.post(f"{base}on-set/", {"code": "MOOR-0001", "wearer": "7"})
    assert "MOOR-0001 is signed out to performer 7 already." in text_of(twice)
    costumer.post(f"{base}on-set/", {"code": "MOOR-0001"})
    assert LoanLine.objects.get(piece=stage.coat).state == "out"

    assert costumer.post(f"{base}return/", {"code": "MOOR-0001", "quick": "on"}).url == f"{base}return/?quick=on"
    assert "It is not on MOOR-CALL-1-L1" in text_of(costumer.post(f"{base}return/", {"code": "MOOR-0003"}))
    pair = costumer.post(f"{base}return/", {"code": "MOOR-0051", "quick": "on"})
    assert pair.url == f"{base}return/?code=MOOR-0051"
    assert "L left boot" in text_of(costumer.get(pair.url))
    assert "checked" not in costumer.get(pair.url).content.decode()
    unsaid = costumer.post(f"{base}return/", {"code": "MOOR-0051", "note": "", "parts_back": ["L", "R"]})
    assert unsaid.status_code == 422
    assert "nothing was chosen. Say how it came back." in text_of(unsaid)
    facts = {"code": "MOOR-0051", "result": "as sent", "note": "", "parts_back": ["L"], "place": store.quarantine.pk}
    assert "it is incomplete" in text_of(costumer.post(f"{base}return/", facts))
    facts |= {"result": "incomplete", "note": "right one lost"}
    assert costumer.post(f"{base}return/", facts).status_code == 302
    assert costumer.post(f"{base}not-back/MOOR-0002/", {"reason": "left at the inn"}).status_code == 302
    page = text_of(costumer.get(base))
    assert "right boot of MOOR-0051 is missing." in page
    assert "MOOR-0002 coat did not come back." in page
    costumer.post(f"{base}part-home/MOOR-0051/", {"letter": "R"})
    assert "right boot of MOOR-0051 is missing." not in text_of(costumer.get(base))

    closing = archivist.post(f"{base}close/")
    assert closing.status_code == 409
    assert "cannot close: MOOR-0001, MOOR-0051 are in quarantine" in text_of(closing)
    early = archivist.post(f"{base}put-away/", {"number": "MOOR-0001", "findings": "", "place": ""})
    assert "in quarantine until 21 Jun 2031: to release it earlier" in text_of(early)
    nowhere = archivist.post(f"{base}put-away/", {"number": "MOOR-0001", "findings": "clean", "place": "ZZ"})
    assert "There is no place ZZ." in text_of(nowhere)
    assert 'value="clean"' in text_of(nowhere)
    archivist.post(f"{base}put-away/", {"number": "MOOR-0001", "findings": "clean", "place": ""})
    assert Standing.objects.get(piece=stage.coat).place == store.high
    clock.move_to("2031-06-21 09:00Z")
    archivist = as_user(cast.archivist)  # the old session has ended
    assert "Release and put away these 1" in text_of(archivist.get(f"{base}put-away/"))
    archivist.post(f"{base}put-away/")
    assert Standing.objects.get(piece=stage.boots[0]).place == store.trunk
    assert archivist.post(f"{base}close/").url == base
    assert "is closed" in text_of(archivist.get(base))
    assert archivist.get(f"{base}list/").status_code == 200
    assert as_user(cast.production).post("/calls/MOOR-CALL-1/close/").status_code == 302
    assert "MOOR-CALL-1 is closed." in text_of(archivist.get("/calls/MOOR-CALL-1/"))
