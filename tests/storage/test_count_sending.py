"""Counting without signal: each scan keeps its moment, is counted once, and a stocktake closed meanwhile is told."""

import json
from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.test import Client
from playwright.sync_api import expect

from catalog.access.duties import Duty
from catalog.core import clock
from catalog.core.lanes import kept_acts
from catalog.pieces.models import Piece
from catalog.storage import actions
from catalog.storage import stocktake_actions as taking
from catalog.storage.models import Sighting, Stocktake
from tests.cast import Cast
from tests.storage.world import Store, make_store

As = Callable[[Any], Client]


def start(store: Store) -> Stocktake:
    return taking.start_stocktake(by=store.cast.archivist, place=store["MAIN"], draw="everything")


def sends(client: Client, row: Stocktake, *acts: dict[str, Any]) -> list[dict[str, Any]]:
    body = json.dumps({"acts": [{"client_id": str(uuid4()), "spot": "MAIN-10-1", **act} for act in acts]})
    answer = client.post(f"/stocktake/{row.reference}/count/send/", body, content_type="application/json")
    assert answer.status_code == 200, answer.content
    return answer.json()["answers"]  # type: ignore[no-any-return]


def test_a_scan_is_counted_once_and_what_follows_a_trunk_is_in_it(store: Store, as_user: As) -> None:
    row, client = start(store), as_user(store.cast.set_costumer)
    first, trunk = {"client_id": str(uuid4()), "code": "M-0003"}, {"client_id": str(uuid4()), "code": "BOX1"}
    inside = {"code": "M-0001", "within": trunk["client_id"]}
    answers = sends(client, row, first, first, trunk, inside, {"code": "BENCH"}, {"code": "M-9", "within": "x"})
    assert [one["result"] for one in answers] == ["done", "done", "done", "done", "refused", "refused"]
    assert answers[3]["sentence"] == "M-0001 is seen in BOX1 at MAIN-10-1."
    assert Sighting.objects.count() == 3
    for duty in Duty:
        allowed = duty in {Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.SET_COSTUMER}
        answer = as_user(store.cast.of(duty)).post(f"/stocktake/{row.reference}/count/send/")
        assert answer.status_code == (400 if allowed else 403)
    assert as_user(None).post(f"/stocktake/{row.reference}/count/send/").status_code == 302


def test_a_stocktake_closed_meanwhile_is_told(store: Store, as_user: As) -> None:
    row, client = start(store), as_user(store.cast.set_costumer)
    taking.count_stop(by=store.cast.archivist, stocktake=row, place=store["MAIN-10-1"])
    taking.close_stocktake(by=store.cast.archivist, stocktake=row)
    late = {"code": "M-0003", "waited": True, "at": clock.now().isoformat()}
    kept = sends(client, row, late)[0]
    assert kept["result"] == "kept"
    assert kept["sentence"].endswith(f"{row.reference} is closed: start another stocktake.")
    assert kept_acts().get().words == f"M-0003 seen at MAIN-10-1 for {row.reference}"
    assert sends(client, row, {"code": "M-0003"})[0]["result"] == "refused"


def test_three_labels_without_signal_are_counted_once(
    transactional_db: None, cast: Cast, phone: Any, enter: Callable[[Any, Any], None]
) -> None:
    store = make_store(cast)
    row = start(store)
    codes = [
        actions.issue_label(by=cast.archivist, piece=Piece.objects.get(number=f"M-000{n}")).code for n in (1, 2, 3)
    ]
    enter(phone, cast.archivist)
    phone.goto(f"/stocktake/{row.reference}/count/?at=MAIN-10-1")
    phone.locator("[data-joined]").wait_for(state="attached")
    before = clock.now()
    phone.context.set_offline(True)
    phone.locator("#id_code").focus()
    for code in codes:
        phone.keyboard.type(code)
        phone.keyboard.press("Enter")
    expect(phone.locator("[data-waiting-count]")).to_have_text("3 scans wait on this phone: no signal.")
    assert Sighting.objects.count() == 0
    phone.context.set_offline(False)
    expect(phone.locator("[data-sign-now]")).to_contain_text("3 scans were sent.")
    expect(phone.locator("[data-waiting]")).to_be_hidden()
    expect(phone.get_by_role("heading", name="3 things seen")).to_be_visible()
    seen = list(Sighting.objects.order_by("seen_at"))
    assert [one.words for one in seen] == ["M-0001", "M-0002", "M-0003"]
    assert all(before - timedelta(minutes=1) < one.seen_at <= one.recorded_at for one in seen)
    assert kept_acts().count() == 0
