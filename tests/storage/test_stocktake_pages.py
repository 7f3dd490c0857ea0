"""The pages of a stocktake: who may open them, what they say, and that nothing expected shows before closing."""

from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from catalog.access.duties import Duty
from catalog.access.permissions import ADDRESSES
from catalog.pieces.actions import value_piece
from catalog.storage import actions
from catalog.storage import stocktake_actions as taking
from catalog.storage.models import Place, Sighting, Standing, Stocktake
from catalog.storage.stocktake_actions import Spot
from tests.storage.world import Store

A, W, P, S = Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.PRODUCTION, Duty.SET_COSTUMER
STAFF, HANDS = {A, W, P, S}, {A, W, S}
As = Callable[[Any], Client]
PAGES = [
    ("stocktakes", STAFF),
    ("start", {A}),
    ("coverage", STAFF),
    ("stocktake", STAFF),
    ("count", HANDS),
    ("close", {A}),
    ("settle", {A}),
]
POSTS = [("unlabelled", HANDS), ("take_back", HANDS), ("counted", HANDS)]


@pytest.fixture
def take(store: Store) -> Stocktake:
    return taking.start_stocktake(by=store.cast.archivist, place=store["MAIN"], draw="everything")


def at(take: Stocktake, name: str, line: int = 0) -> str:
    if name in ("stocktakes", "start", "coverage"):
        return reverse(f"stocktake:{name}")
    return reverse(f"stocktake:{name}", args=[take.reference, line] if name == "settle" else [take.reference])


def text(answer: Any) -> str:
    return str(answer.content.decode()).replace("\u00a0", " ")


def see(store: Store, take: Stocktake, number: str, place: str, **more: Any) -> Sighting:
    piece = Standing.objects.get(piece__number=number).piece if number else None
    spot = Spot(store[place], more.pop("inside", None))
    return taking.see(by=store.cast.archivist, stocktake=take, at=spot, client_id=uuid4(), piece=piece, **more)


def close(store: Store, take: Stocktake) -> None:
    for stop in take.stops.select_related("place"):
        taking.count_stop(by=store.cast.archivist, stocktake=take, place=stop.place)
    taking.close_stocktake(by=store.cast.archivist, stocktake=take)


@pytest.fixture
def closed(store: Store, take: Stocktake) -> Stocktake:
    """M-0003 was put elsewhere, a trunk reads a number that is no trunk's, a thing has no label; crate 2 is missing."""
    see(store, take, "M-0003", "MAIN-2-1")
    reads = see(store, take, "", "MAIN-10-1", reads="1XOB", is_container=True)
    for number in ("M-0001", "M-0002"):
        see(store, take, number, "MAIN-10-1", inside=reads)
    see(store, take, "", "MAIN-10-1", words="a brown glove")
    Standing.objects.update(since=take.started_at)
    close(store, take)
    return take


@pytest.mark.parametrize(("name", "who"), PAGES)
def test_each_page_opens_for_its_people_alone(
    store: Store, closed: Stocktake, as_user: As, name: str, who: set[Duty]
) -> None:
    address = at(closed, name, closed.lines.first().pk)
    for duty in Duty:
        answer = as_user(store.cast.of(duty)).get(address)
        assert answer.status_code in ((200, 302) if duty in who else (403,)), duty
    assert as_user(None).get(address)["Location"].startswith(reverse("access:sign_in"))


@pytest.mark.parametrize(("name", "who"), POSTS)
def test_each_act_is_for_its_people_alone(
    store: Store, take: Stocktake, as_user: As, name: str, who: set[Duty]
) -> None:
    one = see(store, take, "M-0003", "MAIN-10-1")
    posted = {"at": "MAIN-10-1", "sighting": one.pk, "label": "none", "what": "thing", "words": "a glove"}
    address = at(take, name)
    assert as_user(None).post(address, posted)["Location"].startswith(reverse("access:sign_in"))
    assert as_user(store.cast.archivist).get(address).status_code == 405
    for duty in Duty:
        assert as_user(store.cast.of(duty)).post(address, posted).status_code == (302 if duty in who else 403), duty


def test_every_address_is_tried_here() -> None:
    tried = {f"stocktake:{name}" for name, _ in PAGES + POSTS} | {"stocktake:count_send"}  # test_count_sending.py
    tried |= {"stocktake:settle_as_found"}  # test_found_ways.py
    assert tried == {name for name in ADDRESSES if name.startswith("stocktake:")}


def test_a_stocktake_is_started_and_nothing_is_chosen_beforehand(store: Store, as_user: As) -> None:
    client = as_user(store.cast.archivist)
    page = text(client.get("/stocktake/start/?place=DOCKS"))
    assert 'value="DOCKS"' in page
    assert "checked" not in page
    wrong = text(client.post("/stocktake/start/", {"place": "NOWHERE-9", "sample_size": "many"}))
    for told in (
        "is called “NOWHERE-9”",
        "What is counted: nothing was chosen",
        "Pieces drawn at random",
        'value="many"',
    ):
        assert told in wrong, told
    assert not Stocktake.objects.exists()
    answer = client.post("/stocktake/start/", {"place": "DOCKS", "draw": "everything", "sample_size": ""})
    assert answer["Location"] == f"/stocktake/{Stocktake.objects.get().reference}/"
    again = text(client.post("/stocktake/start/", {"place": "DOCKS", "draw": "everything"}))
    assert "DOCKS is being counted already" in again


def test_what_a_sample_would_say_is_told_before_it_is_drawn(store: Store, as_user: As) -> None:
    for number in range(18):
        store.piece(f"S-{number:04d}", "MAIN-2-1")
    piece = Standing.objects.get(piece__number="S-0000").piece
    value_piece(by=store.cast.archivist, piece=piece, amount=5000, currency="EUR", valued_on=date(2020, 1, 1))
    asked = {"place": "MAIN", "draw": "sample", "sample_size": "6", "look": "1"}
    page = text(as_user(store.cast.archivist).post("/stocktake/start/", asked))
    assert "Main Hall: 7 pieces are drawn." in page
    assert "All 1 worth EUR 2,000 or more" in page
    assert "at most 6 of the 20 (30 %) are missing, at 95 % confidence" in page
    assert not Stocktake.objects.exists()


def test_until_it_is_closed_nothing_expected_shows(store: Store, take: Stocktake, as_user: As) -> None:
    """No number, code or name of what is recorded there stands on any of its pages, and no count of them."""
    see(store, take, "M-0003", "MAIN-10-1")
    client = as_user(store.cast.archivist)
    for address in (
        at(take, "stocktake"),
        f"{at(take, 'count')}?at=MAIN-2-1",
        f"{at(take, 'count')}?at=MAIN-10-1",
        at(take, "close"),
    ):
        page = text(client.get(address))
        for hidden in ("M-0001", "M-0002", "BOX1", "BOX2", "trunk 1", "expected 2"):
            assert hidden not in page, (address, hidden)
    assert "M-0003" in text(client.get(f"{at(take, 'count')}?at=MAIN-10-1"))
    assert client.get(at(take, "settle", 1)).status_code == 404
    # The same page for a shelf with something on record as for one without.
    pages = []
    for code in ("MAIN-2-1", "MAIN"):
        answer = client.get(f"{at(take, 'count')}?at={code}")
        pages.append((answer.context["seen"], answer.context["seen_count"], answer.context["problem"]))
    assert pages[0] == pages[1]


def test_thing_after_thing_with_a_scanner(store: Store, take: Stocktake, as_user: As) -> None:
    label = actions.issue_label(by=store.cast.archivist, piece=Standing.objects.get(piece__number="M-0001").piece)
    client, address = as_user(store.cast.set_costumer), at(take, "count")
    assert "Scan the shelf first" in text(client.post(address, {"code": "M-0001"}))
    shelf = client.post(address, {"code": "main-2-1"})
    assert shelf["Location"] == f"{address}?at=MAIN-2-1"
    assert "does not lie in MAIN" in text(client.post(address, {"code": "BENCH", "at": "MAIN-2-1"}))
    box = client.post(address, {"code": "BOX1", "at": "MAIN-2-1"}, follow=True)
    assert "In BOX1: 0 things seen." in text(box)
    number = box.context["at"].inside.pk
    scan = {"code": f"HTTPS://X.EXAMPLE/Q/{label.code}", "at": "MAIN-2-1", "box": number, "client_id": str(uuid4())}
    for _ in range(2):
        page = text(client.post(address, scan, follow=True))
    assert "In BOX1: 1 thing seen." in page
    assert take.sightings.filter(piece__number="M-0001", inside=number).count() == 1
    back = client.post(at(take, "take_back"), {"sighting": take.sightings.get(piece__number="M-0001").pk}, follow=True)
    assert "M-0001 is taken back." in text(back)
    assert "In BOX1: 0 things seen." in text(back)


def test_what_leads_nowhere_is_asked_about_and_counted_as_it_reads(store: Store, take: Stocktake, as_user: As) -> None:
    client, address = as_user(store.cast.archivist), at(take, "count")
    page = client.post(address, {"code": "XOB1", "at": "MAIN-2-1"})
    assert "If it really reads “XOB1”" in text(page)
    assert not take.sightings.exists()
    answer = client.post(address, {"code": "XOB1", "at": "MAIN-2-1", "reads": "container"}, follow=True)
    assert "In container XOB1: 0 things seen." in text(answer)
    assert "That code is too long to be one" in text(client.post(address, {"code": "z" * 300, "at": "MAIN-2-1"}))
    assert take.sightings.get().text == "XOB1"


def test_without_a_label_what_was_typed_stays(store: Store, take: Stocktake, as_user: As) -> None:
    client = as_user(store.cast.archivist)
    page = text(client.post(at(take, "unlabelled"), {"at": "MAIN-2-1", "label": "none", "words": "a brown glove"}))
    assert "It is: nothing was chosen. Choose one." in page
    assert 'value="a brown glove"' in page
    assert not take.sightings.exists()
    client.post(at(take, "unlabelled"), {"at": "MAIN-2-1", "label": "unreadable", "what": "thing", "words": "sm.dg"})
    row = take.sightings.get()
    assert (row.kind, row.text, row.labelled) == ("thing", "sm.dg", True)


def test_a_place_is_counted_and_opened_again(store: Store, take: Stocktake, as_user: As) -> None:
    client = as_user(store.cast.set_costumer)
    page = text(client.post(at(take, "counted"), {"at": "MAIN"}, follow=True))
    assert "2 places are left to count." in page
    page = text(client.post(at(take, "counted"), {"at": "MAIN", "again": "1"}, follow=True))
    assert "3 places are left to count." in page


def test_closing_says_what_was_not_counted(store: Store, take: Stocktake, as_user: As) -> None:
    client = as_user(store.cast.archivist)
    assert "No place is counted yet" in text(client.post(at(take, "close")))
    taking.count_stop(by=store.cast.archivist, stocktake=take, place=store["MAIN"])
    page = text(client.get(at(take, "close")))
    assert "2 places were not counted." in page
    assert "MAIN-2-1, MAIN-10-1" in page
    assert "Everything that was counted is where it is recorded." in text(client.post(at(take, "close"), follow=True))
    assert client.get(at(take, "count"))["Location"] == at(take, "stocktake")


def test_the_result_names_each_difference_with_its_answer(store: Store, closed: Stocktake, as_user: As) -> None:
    page = text(as_user(store.cast.archivist).get(at(closed, "stocktake")))
    assert "4 differences are to settle." in page
    assert "its content is <b>BOX1</b>’s list, 2 of 2 agree" in page
    for told in ("Is it really BOX1?", "It is missing", "Where does it go?", "What is it?", "A brown glove"):
        assert told in page, told
    reader = text(as_user(store.cast.production).get(at(closed, "stocktake")))
    assert "BOX2" in reader
    assert "It is missing" not in reader


def test_a_trunk_is_really_another_only_when_all_is_answered(store: Store, closed: Stocktake, as_user: As) -> None:
    client = as_user(store.cast.archivist)
    row = closed.lines.get(kind="otherwise")
    address = at(closed, "settle", row.pk)
    page = text(client.get(address))
    assert "Container 1XOB holds what BOX1 should: 2 of 2 agree." in page
    assert "checked" not in page
    wrong = text(client.post(address, {"is_it": "yes"}))
    assert "Tick what was found in it" in wrong
    assert "say whether a new one is made" in wrong
    assert closed.lines.filter(resolved_at=None).count() == 4
    done = client.post(address, {"is_it": "yes", "new_label": "yes", "all_here": "1"}, follow=True)
    assert "Label of BOX1" in text(done)
    assert "It is BOX1: 2 pieces are found in it." in text(done)
    assert Place.objects.get(code="BOX1").parent.code == "MAIN-10-1"
    again = text(client.post(address, {"is_it": "no"}))
    assert "This line was settled already." in again


def test_it_is_not_that_trunk(store: Store, closed: Stocktake, as_user: As) -> None:
    row = closed.lines.get(kind="otherwise")
    as_user(store.cast.archivist).post(at(closed, "settle", row.pk), {"is_it": "no"})
    row.refresh_from_db()
    assert row.outcome == "left as it is: it is not BOX1"
    assert Place.objects.get(code="BOX1").parent.code == "MAIN-2-1"


def test_the_quick_answers_and_a_reason(store: Store, closed: Stocktake, as_user: As) -> None:
    client = as_user(store.cast.archivist)
    missing, wrong = closed.lines.get(kind="missing"), closed.lines.get(kind="wrong place")
    page = text(client.get(at(closed, "settle", wrong.pk)))
    assert "It stays at MAIN-2-1" in page
    client.post(at(closed, "settle", wrong.pk), {"do": "here"})
    assert Standing.objects.get(piece__number="M-0003").place.code == "MAIN-2-1"
    refused = text(client.post(at(closed, "settle", missing.pk), {"do": "leave", "why": ""}))
    assert "Say why nothing is to be changed." in refused
    client.post(at(closed, "settle", missing.pk), {"do": "missing"})
    assert Place.objects.get(code="BOX2").state == "not found"


def test_an_unlabelled_thing_is_named_and_gets_its_label(store: Store, closed: Stocktake, as_user: As) -> None:
    client = as_user(store.cast.archivist)
    address = at(closed, "settle", closed.lines.get(kind="unlabelled").pk)
    assert "is called “NO-9”" in text(client.post(address, {"thing": "NO-9", "blank": ""}))
    wrong = text(client.post(address, {"thing": "M-0003", "blank": "B99999Q"}))
    assert "M-0003" in wrong
    assert closed.lines.get(kind="unlabelled").resolved_at is None
    assert client.post(address, {"thing": "M-0003", "blank": ""})["Location"].startswith("/storage/labels/P")


def test_open_stocktakes_and_open_lines_stand_on_today(store: Store, take: Stocktake, as_user: As) -> None:
    reference = take.reference
    assert f"Stocktake {reference} of Main Hall: 3 places to go." in text(as_user(store.cast.set_costumer).get("/"))
    close(store, take)
    page = text(as_user(store.cast.archivist).get("/"))
    assert f"of stocktake {reference} to settle." in page


def test_coverage_by_room_and_by_value(store: Store, as_user: As) -> None:
    Standing.objects.filter(piece__number="M-0003").update(last_seen=date(2001, 1, 1))
    piece = Standing.objects.get(piece__number="M-0001").piece
    value_piece(by=store.cast.archivist, piece=piece, amount=5000, currency="EUR", valued_on=date(2020, 1, 1))
    page = text(as_user(store.cast.archivist).get("/stocktake/coverage/"))
    assert "66 % of the store was seen within a year." in page
    assert "EUR 5,000" in page
    assert "Count the oldest room" in page
    assert "/stocktake/start/?place=MAIN" in page
    assert "<svg" in page
    for duty, sees in ((P, True), (W, False), (S, False)):
        assert ("EUR" in text(as_user(store.cast.of(duty)).get("/stocktake/coverage/"))) == sees, duty


def test_an_empty_store_says_so(cast: Any, as_user: As) -> None:
    page = text(as_user(cast.archivist).get("/stocktake/coverage/"))
    assert "Nothing stands in the store yet." in page
    assert "No room is recorded yet." in page
    assert "Nothing was counted yet." in text(as_user(cast.archivist).get("/stocktake/"))


@pytest.mark.parametrize("name", ["stocktakes", "coverage", "stocktake", "count", "result", "settle"])
def test_each_list_takes_the_same_queries_however_long(
    store: Store, as_user: As, name: str, django_assert_max_num_queries: Any
) -> None:
    def fill(start: int, number: int) -> Stocktake:
        for n in range(start, start + number):
            store.place(f"R{n}", "level", "MAIN")
            store.piece(f"Q-{n:04d}", f"R{n}")
            store.piece(f"V-{n:04d}", f"R{n}")
        row = taking.start_stocktake(by=store.cast.archivist, place=store["MAIN"], draw="everything")
        reads = see(store, row, "", "MAIN", reads="1XOB", is_container=True)
        see(store, row, "M-0001", "MAIN", inside=reads)
        for n in range(start, start + number):
            see(store, row, f"Q-{n:04d}", "MAIN")
        Standing.objects.update(since=row.started_at)
        return row

    def ask(row: Stocktake) -> int:
        if name in ("result", "settle"):
            close(store, row)
        line = row.lines.filter(kind="otherwise").first() if name == "settle" else None
        address = at(row, "stocktake" if name == "result" else name, line.pk if line else 0)
        client = as_user(store.cast.archivist)
        client.get(f"{address}?at=MAIN")
        with django_assert_max_num_queries(30) as asked:
            assert client.get(f"{address}?at=MAIN").status_code == 200
        if row.closed_at is None and name not in ("result", "settle"):
            close(store, row)
        return len(asked)

    few = ask(fill(0, 1))
    assert ask(fill(1, 12)) <= few + (name in ("stocktakes", "coverage"))
