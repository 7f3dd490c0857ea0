"""The store with a phone in one hand: scan, move, miss and find; and what axe says of each page."""

from typing import Any
from uuid import uuid4

import pytest
from playwright.sync_api import expect

from catalog.storage import actions
from catalog.storage import stocktake_actions as taking
from catalog.storage.models import Place, Standing
from catalog.storage.stocktake_actions import Spot
from tests.cast import Cast
from tests.storage.world import Store, make_store


@pytest.fixture
def store(cast: Cast) -> Store:
    return make_store(cast)


def test_a_trunk_is_scanned_and_moved_with_one_thumb(store: Store, phone: Any, enter: Any, faults: Any) -> None:
    """A keyboard scanner types the label's address and presses Enter; no other key is needed."""
    trunk = actions.issue_label(by=store.cast.archivist, place=store["BOX1"]).code
    bench = actions.issue_label(by=store.cast.archivist, place=store["BENCH"]).code
    enter(phone, store.cast.set_costumer)
    phone.goto("/scan/")
    expect(phone.locator("input:focus")).to_have_count(1)
    phone.keyboard.type(f"HTTPS://LABELS.EXAMPLE/Q/{trunk}")
    phone.keyboard.press("Enter")
    phone.wait_for_url("**/storage/BOX1/")
    assert faults(phone) == []
    phone.get_by_role("link", name="Move it with what is in it").click()
    phone.wait_for_url("**/move/")
    assert faults(phone) == []
    expect(phone.locator("input:focus")).to_have_count(1)
    phone.keyboard.type(f"https://labels.example/q/{bench.lower()}/")
    phone.keyboard.press("Enter")
    phone.wait_for_url("**/storage/BOX1/")
    assert "BOX1 is now at BENCH." in phone.locator("#messages").inner_text()
    assert Place.objects.get(code="BOX1").parent.code == "BENCH"
    assert Standing.objects.get(piece__number="M-0001").place.code == "BOX1"


def test_a_lost_trunk_is_counted_when_it_turns_up(store: Store, phone: Any, enter: Any, faults: Any) -> None:
    actions.mark_missing(by=store.cast.archivist, container=store["BOX1"], note="audit")
    enter(phone, store.cast.archivist)
    phone.goto("/storage/missing/")
    assert faults(phone) == []
    phone.get_by_role("link", name="BOX1 was found").click()
    phone.get_by_label("Found at").fill("BENCH")
    phone.get_by_label("M-0001 coat M-0001").check()
    assert faults(phone) == []
    phone.get_by_role("button", name="Found, with what is ticked").click()
    phone.wait_for_url("**/storage/BOX1/")
    states = dict(Standing.objects.values_list("piece__number", "state"))
    assert (states["M-0001"], states["M-0002"]) == ("in store", "not found")


@pytest.mark.parametrize("view", ["page"])  # the crawl of test_axe.py looks at them on a phone
def test_axe_finds_nothing(store: Store, view: str, request: pytest.FixtureRequest, enter: Any, faults: Any) -> None:
    seen = request.getfixturevalue(view)
    label = actions.issue_label(by=store.cast.archivist, place=store["BOX1"]).code
    blank = actions.make_blanks(by=store.cast.archivist, count=1)[0]
    enter(seen, store.cast.archivist)
    for address in (
        "/storage/",
        "/storage/MAIN/",
        "/storage/add/",
        "/storage/BOX1/edit/",
        "/storage/BOX1/missing/",
        "/storage/labels/blanks/",
        f"/storage/labels/blanks/?first={blank.serial}&count=1&start=3&sheet=a4-21",
        f"/storage/labels/{label}/",
        f"/storage/labels/{blank.code}/bind/",
        "/scan/",
    ):
        seen.goto(address)
        assert faults(seen) == []
        wide = "document.documentElement.scrollWidth > document.documentElement.clientWidth"
        assert not seen.evaluate(wide), address
    seen.goto("/scan/")
    expect(seen.locator("input[name=code]")).to_be_focused()
    seen.keyboard.type("BOX7")
    seen.keyboard.press("Enter")
    seen.get_by_text("Did you mean").wait_for()
    assert faults(seen) == []


def test_axe_finds_nothing_where_things_are_lost_found_and_counted(
    store: Store, phone: Any, enter: Any, faults: Any
) -> None:
    by = store.cast.archivist
    take = taking.start_stocktake(by=by, place=store["MAIN"], draw="everything")
    for what in ({"words": "a brown glove"}, {"reads": "1XOB", "is_container": True}, {"reads": "M-00O3"}):
        taking.see(by=by, stocktake=take, at=Spot(store["MAIN-10-1"]), client_id=uuid4(), **what)
    taking.count_stop(by=by, stocktake=take, place=store["MAIN-10-1"])
    taking.close_stocktake(by=by, stocktake=take)
    file = actions.mark_missing(by=by, container=store["BOX1"], note="audit")
    found = actions.take_in_found(by=by, name="a hat", kind="hat", place=store["BENCH"])
    settle = [f"/stocktake/{take.reference}/lines/{line.pk}/" for line in take.lines.all()]
    assert len(settle) >= 3
    enter(phone, by)
    for address in (
        "/storage/missing/",
        f"/storage/missing/{file.pk}/?place=MAIN-10-1&code=1XOB",
        "/storage/BOX1/found/?at=BENCH&reads=1XOB&seen=M-0001&code=M-0003",
        "/storage/found/",
        "/storage/found/add/",
        f"/storage/found/{found.number}/",
        f"/stocktake/{take.reference}/",
        *settle,
    ):
        phone.goto(address)
        assert faults(phone) == []
        wide = "document.documentElement.scrollWidth > document.documentElement.clientWidth"
        assert not phone.evaluate(wide), address


def test_the_strangers_page_is_sound(store: Store, phone: Any, faults: Any) -> None:
    code = actions.issue_label(by=store.cast.archivist, place=store["BOX1"]).code
    phone.goto(f"/Q/{code}")
    assert phone.locator("h1").inner_text() == "This is the property of Wrapkeep archive."
    assert "BOX1" not in phone.content()
    assert faults(phone) == []
