"""The pull page's queue: a scanner that fires faster than the page answers loses nothing, signal or none."""

import json
from collections.abc import Callable, Iterator
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.test import Client
from playwright.sync_api import expect

from catalog.core.lanes import kept_acts
from catalog.core.models import HistoryLine
from catalog.loans import actions
from catalog.loans.models import Loan
from tests.cast import Cast, make_cast
from tests.loans.world import Stage, make_firm, make_stage, make_store


@pytest.fixture(autouse=True)
def _on_the_day() -> Iterator[None]:
    with time_machine.travel("2031-06-08 08:00Z", tick=True):
        yield


def a_loan(cast: Cast, coats: int) -> tuple[Stage, Loan]:
    stage = make_stage(coats=coats)
    make_store(cast.archivist, stage)
    return stage, actions.start_loan(by=cast.archivist, hold=make_firm(cast.production, stage.coats))


def sends(client: Client, loan: Loan, *acts: dict[str, Any]) -> list[dict[str, Any]]:
    body = json.dumps({"acts": [{"client_id": str(uuid4()), **act} for act in acts]})
    answer = client.post(f"/loans/{loan.reference}/pull/send/", body, content_type="application/json")
    assert answer.status_code == 200, answer.content
    return answer.json()["answers"]  # type: ignore[no-any-return]


def test_each_scan_is_answered_and_a_late_no_waits(cast: Cast, as_user: Callable[[Any], Client]) -> None:
    _, loan = a_loan(cast, 3)
    client = as_user(cast.set_costumer)
    first = {"client_id": str(uuid4()), "code": "MOOR-0001"}
    answers = sends(client, loan, first, first, {"code": "MOOR-0001"}, {"code": "TR-1"}, {"code": ""})
    assert [one["result"] for one in answers] == ["done", "done", "refused", "refused", "refused"]
    assert answers[0]["sentence"] == answers[1]["sentence"] == "MOOR-0001 coat: taken."
    assert answers[3]["look"] == f"/loans/{loan.reference}/pull/?place=TR-1"
    assert "TR-1 is a trunk" in client.get(answers[3]["look"]).content.decode()
    then = "2031-06-08T07:00:00Z"
    late = sends(client, loan, *({"code": code, "at": then, "waited": True} for code in ("MOOR-0001", "MOOR-0002")))
    assert [one["result"] for one in late] == ["kept", "done"]
    assert kept_acts().get().words == f"MOOR-0001 pulled for {loan.reference}"
    line = HistoryLine.objects.get(verb="pulled", subject_id="MOOR-0002")
    assert line.happened.isoformat() == "2031-06-08T07:00:00+00:00"
    for who, code in ((cast.production, 403), (cast.visitor, 403), (None, 302)):
        assert as_user(who).post(f"/loans/{loan.reference}/pull/send/").status_code == code


def test_ten_codes_in_two_seconds_and_one_without_signal(transactional_db: None, phone: Any, enter: Any) -> None:
    cast = make_cast()
    stage, loan = a_loan(cast, 11)
    enter(phone, cast.archivist)
    phone.goto(f"/loans/{loan.reference}/pull/")
    phone.locator("[data-joined]").wait_for(state="attached")
    phone.locator("#id_code").focus()
    for piece in stage.coats[:10]:
        phone.keyboard.type(piece.number)
        phone.keyboard.press("Enter")
    expect(phone.locator("h1")).to_have_text("1 piece left to pull.", timeout=15_000)
    assert loan.lines.filter(state="pulled").count() == 10
    expect(phone.locator("[data-waiting]")).to_be_hidden()

    phone.context.set_offline(True)
    phone.locator("#id_code").fill(stage.coats[10].number)
    phone.keyboard.press("Enter")
    expect(phone.locator("[data-waiting-count]")).to_have_text("1 scan waits on this phone: no signal.")
    phone.context.set_offline(False)
    phone.goto("/scan/")  # the pull page is left; what waits is kept on the phone and sent from wherever a queue is
    phone.goto(f"/loans/{loan.reference}/pull/")
    expect(phone.locator("h1")).to_have_text("Everything is pulled.")
    assert HistoryLine.objects.filter(verb="pulled").count() == 11
