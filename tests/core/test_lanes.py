"""Acts that a page's queue sends: done once, kept when they came too late, decided once."""

import json
from collections.abc import Callable
from datetime import timedelta
from io import StringIO
from typing import Any
from uuid import UUID, uuid4

import pytest
import time_machine
from django.core.management import call_command
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from catalog.core import clock, lanes
from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.core.lanes import Answer, Lane, answer_once, do_kept, drop_kept, kept_acts
from catalog.core.sending import Sent, answer_each
from catalog.core.sent_models import SentAct
from tests.cast import Cast


@pytest.fixture
def bell(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What was rung; a lane of our own rings it, and a bell that is rung already cannot be rung."""
    rung: list[str] = []

    def ring(by: Any, sent: Sent) -> str:
        name = sent.fact("bell")
        if name == "forbidden":
            raise NotAllowed("To ring is for the archivist.")
        if name in rung:
            raise WrongState(f"{name} is rung already.")
        rung.append(name)
        return f"{name} is rung."

    monkeypatch.setattr(lanes, "_LANES", {})
    # The address is one that exists, so that the table of permissions answers for it.
    lanes.named(Lane("bells", "desk:scan_send", ("bell",), lambda facts: f"ring {facts['bell']}", ring))
    return rung


def sent(bell: str, *, waited: bool = False, client_id: UUID | None = None) -> Sent:
    happened = clock.now() - timedelta(minutes=20) if waited else None
    return Sent(client_id or uuid4(), {"bell": bell, "name": "A. Performer"}, happened, waited)


def ring(by: Any, act: Sent) -> Answer:
    return answer_once(by=by, lane=lanes.lanes()[0], sent=act)


def test_a_repeated_send_adds_nothing_and_is_answered_the_same(cast: Cast, bell: list[str]) -> None:
    act = sent("north")
    answers = {ring(cast.archivist, act) for _ in range(3)}
    assert answers == {Answer("done", "north is rung.")}
    bell.clear()  # somebody undid it meanwhile: the repeat does not do it again
    assert ring(cast.archivist, act) == Answer("done", "north is rung.")
    assert bell == []
    assert ring(cast.set_costumer, act).result == "refused"


def test_a_live_no_is_said_and_a_late_no_is_kept(cast: Cast, bell: list[str]) -> None:
    bell.append("north")
    assert ring(cast.archivist, sent("north")) == Answer("refused", "north is rung already.")
    assert SentAct.objects.count() == 0
    late = sent("north", waited=True)
    for _ in range(2):
        assert ring(cast.archivist, late) == Answer("kept", "ring north waits for a decision: north is rung already.")
    kept = kept_acts().get()
    assert (kept.facts, kept.by, kept.happened) == ({"bell": "north"}, cast.archivist, late.happened)
    with pytest.raises(NotAllowed):
        ring(cast.archivist, sent("forbidden", waited=True))


def test_a_kept_act_is_decided_once(cast: Cast, bell: list[str]) -> None:
    bell.append("north")
    ring(cast.set_costumer, sent("north", waited=True))
    kept = kept_acts().get()
    with pytest.raises(WrongState, match="rung already"):
        do_kept(by=cast.archivist, act=kept)
    assert kept_acts().count() == 1
    with pytest.raises(Refused, match="Say why"):
        drop_kept(by=cast.archivist, act=kept, why=" ")
    bell.clear()
    assert do_kept(by=cast.archivist, act=kept) == "north is rung."
    with pytest.raises(WrongState, match="decided already: done"):
        drop_kept(by=cast.archivist, act=kept, why="a mistake")
    assert (bell, kept_acts().count()) == (["north"], 0)


@pytest.mark.parametrize(
    "wrong",
    [{"result": "gone"}, {"words": ""}, {"result": "dropped"}, {"decided": clock.now()}],
    ids=["unknown word", "says nothing", "dropped without a reason", "decided by nobody"],
)
def test_the_database_keeps_no_half_decision(cast: Cast, bell: list[str], wrong: dict[str, Any]) -> None:
    ring(cast.archivist, sent("north"))
    with pytest.raises(IntegrityError), transaction.atomic():
        SentAct.objects.update(**wrong)


def test_what_cannot_be_read_is_refused(rf: Any, cast: Cast) -> None:
    def post(body: str) -> Any:
        request = rf.post("/", body, content_type="application/json")
        request.user = cast.archivist
        return answer_each(request, lambda one: {"result": "done", "sentence": one.fact("bell"), "waited": one.waited})

    for body in ("{", "[]", '{"acts": 3}', json.dumps({"acts": [{}] * 51})):
        assert post(body).status_code == 400
    good, late = str(uuid4()), str(uuid4())
    acts = [
        {"client_id": good, "bell": " north ", "at": "rubbish"},
        {"client_id": late, "bell": "south", "at": "2026-05-01T08:00:00Z", "waited": True},
        {"client_id": str(uuid4()), "at": "yesterday", "waited": True},
        {"bell": "no id"},
        7,
    ]
    answers = json.loads(post(json.dumps({"acts": acts})).content)["answers"]
    assert [one["result"] for one in answers] == ["done", "done", "refused", "refused", "refused"]
    assert [one.get("sentence") for one in answers[:2]] == ["north", "south"]


def test_the_pages_of_what_is_kept(cast: Cast, bell: list[str], as_user: Callable[[Any], Client]) -> None:
    bell.append("north")
    ring(cast.set_costumer, sent("north", waited=True))
    act = kept_acts().get()
    address = reverse("desk:decide_act", args=[act.pk])
    client = as_user(cast.archivist)
    assert client.get(reverse("desk:scan_ready")).json()["kept"] == 1
    assert "1 late scan waits for a decision." in client.get("/").content.decode()
    assert f'href="{address}">Decide the oldest' in client.get(reverse("desk:scan_kept")).content.decode()
    assert "north is rung already." in client.get(address).content.decode()
    for body, said in (({}, "What is true"), ({"decision": "drop"}, "Say why"), ({"decision": "do"}, "rung already")):
        answer = client.post(address, body)
        assert answer.status_code == 422
        assert said in answer.content.decode().split("There is a problem")[1]
    assert client.post(address, {"decision": "drop", "why": "rung by hand"}).status_code == 302
    act.refresh_from_db()
    assert (act.result, act.decided_by, act.decided_why) == ("dropped", cast.archivist, "rung by hand")
    assert client.get(address).status_code == 404
    assert as_user(cast.visitor).get(address).status_code == 403
    assert as_user(None).get(address).status_code == 302


def test_what_was_answered_is_forgotten_after_its_time_and_what_waits_is_not(cast: Cast, bell: list[str]) -> None:
    """By the nightly command; a repeat that comes after that is not rung again but asked about."""
    now = clock.now()
    act = Sent(uuid4(), {"bell": "north"}, now - timedelta(minutes=20), True)
    ring(cast.archivist, act)
    dropped, waits = sent("north", waited=True), sent("north", waited=True)
    ring(cast.archivist, waits)
    ring(cast.archivist, dropped)
    drop_kept(by=cast.archivist, act=SentAct.objects.get(client_id=dropped.client_id), why="rung twice")
    with time_machine.travel(now + lanes.REMEMBERED - timedelta(days=1), tick=False):
        call_command("forget_sizes", stdout=StringIO())
        assert SentAct.objects.count() == 3
    with time_machine.travel(now + lanes.REMEMBERED + timedelta(days=1), tick=False):
        said = StringIO()
        call_command("forget_sizes", stdout=said)
        assert "2 answered acts of phones forgotten." in said.getvalue()
        assert SentAct.objects.get().client_id == waits.client_id
        bell.clear()
        again = ring(cast.archivist, act)
    assert (again.result, bell) == ("kept", [])
    assert "look whether it was done then" in again.sentence
