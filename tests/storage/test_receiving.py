"""A trunk comes in, is unpacked and closed; until it is checked it has no place in the main store."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from catalog.access.house_actions import put_setting
from catalog.care.models import Quarantine
from catalog.care.work_actions import call_off_treatment, need_treatment
from catalog.core import clock, history
from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.desk.today import matters
from catalog.pieces.models import Piece
from catalog.storage import actions
from catalog.storage.missing_models import FoundThing
from catalog.storage.models import Label, Place, Standing
from catalog.storage.receiving_models import Receipt, ReceiptLine
from catalog.storage.receiving_queries import unpacking
from tests.storage.world import Store

As = Callable[[Any], Client]
FACTS = {"said": 2, "seal": "AB 4711", "gross_g": 31_000}


def receive(store: Store, **more: Any) -> Receipt:
    facts: dict[str, Any] = {"place": store["CAGE"], "production": store.production, **FACTS, **more}
    return actions.receive_trunk(by=store.cast.archivist, **facts)


def list_one(store: Store, receipt: Receipt, number: str, kind: str = "coat", **more: Any) -> Piece:
    facts: dict[str, Any] = {"name": f"{kind} {number}", "kind": kind, "production": store.production, **more}
    line = actions.list_new(by=store.cast.archivist, receipt=receipt, number=number, **facts)
    assert line.piece is not None
    return line.piece


# --- what is stored -------------------------------------------------------------------------------------------------
def test_a_new_trunk_gets_the_next_number_a_label_and_its_day(store: Store) -> None:
    first, second = receive(store), receive(store)
    assert [first.container.code, second.container.code] == ["T01", "T02"]
    assert first.container.parent == store["CAGE"]
    assert first.container.labels.count() == 1
    assert first.received_on == clock.today()
    assert first.quarantine_due == clock.today() + timedelta(days=14)
    line = history.lines_of(first.container.subject).get(verb="received")
    assert line.after["said"] == 2
    assert line.after["seal"] == "AB 4711"


def test_the_next_number_follows_what_there_is(store: Store) -> None:
    store.place("T099", "trunk", "CAGE")
    assert receive(store).container.code == "T100"


def test_a_blank_that_is_on_it_becomes_its_label(store: Store) -> None:
    blank = actions.make_blanks(by=store.cast.archivist, count=1)[0]
    box = receive(store, label=blank.code).container
    assert [label.code for label in box.labels.all()] == [blank.code]


def test_a_refused_label_leaves_no_trunk_behind(store: Store) -> None:
    before = Place.objects.count()
    with pytest.raises(Refused):
        receive(store, label="B99999X")
    assert Place.objects.count() == before
    assert not Receipt.objects.exists()


def test_a_known_trunk_comes_in_once(store: Store) -> None:
    receipt = receive(store, container=store["BOX1"], place=store["BENCH"])
    assert store["BOX1"].parent == store["BENCH"]
    with pytest.raises(WrongState, match="received and not listed already"):
        receive(store, container=store["BOX1"])
    twin = Receipt(container=receipt.container, received_on=clock.today(), by_name="x")
    with pytest.raises(IntegrityError), transaction.atomic():
        twin.save()


def test_the_main_store_takes_no_unlisted_trunk(store: Store) -> None:
    with pytest.raises(WrongState, match="T01 is in quarantine: no place in the main store"):
        receive(store, place=store["MAIN-2-1"])
    assert not Place.objects.filter(code="T01").exists()
    with pytest.raises(WrongState, match="BOX1, M-0001, M-0002 are in quarantine"):
        receive(store, container=store["BOX1"], place=store["MAIN-2-1"])
    box = receive(store).container
    with pytest.raises(WrongState, match="T01 is in quarantine"):
        actions.move_container(by=store.cast.archivist, container=box, to=store["MAIN-2-1"])
    crate = store.place("CR1", "crate", "CAGE")
    actions.move_container(by=store.cast.archivist, container=box, to=crate)
    with pytest.raises(WrongState, match="T01 is in quarantine"):
        actions.move_container(by=store.cast.archivist, container=crate, to=store["MAIN-2-1"])


def test_what_comes_out_of_it_is_in_quarantine_until_the_trunks_day(store: Store) -> None:
    receipt = receive(store, received_on=clock.today() - timedelta(days=5))
    piece = list_one(store, receipt, "MOOR-1")
    apart = Quarantine.objects.get(piece=piece)
    assert (apart.opened_on, apart.due_on) == (receipt.received_on, clock.today() + timedelta(days=9))
    assert Standing.objects.get(piece=piece).place == receipt.container
    with pytest.raises(WrongState, match="MOOR-1 is in quarantine: no place in the main store"):
        actions.move_piece(by=store.cast.archivist, piece=piece, to=store["MAIN-2-1"])


def test_a_house_without_quarantine_puts_it_anywhere(store: Store) -> None:
    put_setting(by=store.cast.archivist, key="receive.quarantine_days", value=0)
    receipt = receive(store, place=store["MAIN-2-1"])
    assert receipt.quarantine_due is None
    list_one(store, receipt, "MOOR-1")
    assert not Quarantine.objects.exists()


def test_a_checked_trunk_may_wait_in_the_store_and_its_content_too(store: Store) -> None:
    receipt = receive(store)
    with pytest.raises(Refused, match="to release it earlier, say what was looked at"):
        actions.release_trunk(by=store.cast.archivist, receipt=receipt)
    actions.release_trunk(by=store.cast.archivist, receipt=receipt, findings="opened, dry, no frass")
    actions.move_container(by=store.cast.archivist, container=receipt.container, to=store["MAIN-2-1"])
    list_one(store, receipt, "MOOR-1")
    assert not Quarantine.objects.exists()
    with pytest.raises(WrongState, match="not in quarantine"):
        actions.release_trunk(by=store.cast.archivist, receipt=receipt, findings="again")


def test_a_pair_is_one_number_with_two_halves_and_parts_take_the_next_letters(store: Store) -> None:
    receipt = receive(store)
    boots = list_one(store, receipt, "MOOR-1", "boots", parts=["spur"])
    assert [(part.letter, part.name) for part in boots.parts.order_by("letter")] == [
        ("a", "left half"),
        ("b", "right half"),
        ("c", "spur"),
    ]


def test_a_second_press_adds_nothing(store: Store) -> None:
    receipt, press = receive(store), uuid4()
    first = list_one(store, receipt, "MOOR-1", client_id=press)
    again = list_one(store, receipt, "MOOR-2", client_id=press)
    assert again == first
    assert ReceiptLine.objects.count() == 1


def test_a_piece_of_the_wrap_list_is_listed_under_its_number(store: Store) -> None:
    receipt, piece = receive(store), store.piece("MOOR-9")
    actions.list_known(by=store.cast.archivist, receipt=receipt, piece=piece)
    assert Standing.objects.get(piece=piece).place == receipt.container
    assert Quarantine.objects.filter(piece=piece).count() == 1
    with pytest.raises(WrongState, match="listed in T01 already"):
        actions.list_known(by=store.cast.archivist, receipt=receipt, piece=piece)


def test_it_closes_when_the_count_is_right_or_explained(store: Store) -> None:
    receipt = receive(store)
    list_one(store, receipt, "MOOR-1")
    with pytest.raises(Refused, match="1 of 2 listed: say why"):
        actions.close_receipt(by=store.cast.archivist, receipt=receipt)
    list_one(store, receipt, "MOOR-2")
    closed = actions.close_receipt(by=store.cast.archivist, receipt=receipt)
    assert (closed.listed, closed.closed_on) == (2, clock.today())
    with pytest.raises(WrongState, match="is listed since"):
        list_one(store, receipt, "MOOR-3")
    odd = receive(store)
    short = actions.close_receipt(by=store.cast.archivist, receipt=odd, note="delivery note counted hangers")
    assert short.listed == 0
    with pytest.raises(IntegrityError), transaction.atomic():
        Receipt.objects.filter(pk=odd.pk).update(closing_note="")


def test_only_the_archivist_receives_and_lists(store: Store) -> None:
    receipt = receive(store)
    for who in (store.cast.wardrobe_lead, store.cast.production, store.cast.set_costumer, store.cast.visitor):
        with pytest.raises(NotAllowed):
            actions.receive_trunk(by=who, place=store["CAGE"])
        with pytest.raises(NotAllowed):
            actions.close_receipt(by=who, receipt=receipt, note="x")
        with pytest.raises(NotAllowed):
            actions.list_new(by=who, receipt=receipt, number="X1", name="x", kind="coat", production=store.production)


def test_what_lies_in_a_known_trunk_comes_in_with_it_and_is_released_with_it(store: Store) -> None:
    receipt = receive(store, container=store["BOX1"])
    piece = Piece.objects.get(number="M-0001")
    with pytest.raises(WrongState, match="M-0001 is in quarantine: no place in the main store"):
        actions.move_piece(by=store.cast.archivist, piece=piece, to=store["MAIN-2-1"])
    assert Quarantine.objects.count() == 2
    order = need_treatment(by=store.cast.archivist, piece=piece, what="freeze against moth")
    with pytest.raises(WrongState, match="M-0001 may not be released"):
        actions.release_trunk(by=store.cast.archivist, receipt=receipt, findings="dry")
    assert Quarantine.objects.filter(released_on=None).count() == 2
    call_off_treatment(by=store.cast.archivist, treatment=order, reason="no moth")
    actions.release_trunk(by=store.cast.archivist, receipt=receipt, findings="dry")
    assert not Quarantine.objects.filter(released_on=None).exists()
    actions.move_container(by=store.cast.archivist, container=store["BOX1"], to=store["MAIN-2-1"])


def test_what_is_unclear_is_counted_under_a_temporary_number_and_stays_apart_when_known(store: Store) -> None:
    receipt, press = receive(store), uuid4()
    facts: dict[str, Any] = {"name": "one brown gauntlet", "kind": "gloves", "client_id": press}
    line = actions.list_unclear(by=store.cast.archivist, receipt=receipt, **facts)
    assert actions.list_unclear(by=store.cast.archivist, receipt=receipt, **facts) == line
    assert line.found is not None
    assert line.found.number.startswith("FOUND-")
    assert line.found.place == receipt.container
    piece = store.piece("MOOR-7", kind="gloves")
    actions.know_again(by=store.cast.archivist, found=line.found, piece=piece)
    assert Quarantine.objects.get(piece=piece).due_on == receipt.quarantine_due


def test_what_a_list_says_is_in_it_is_not_listed_until_somebody_sees_it(store: Store) -> None:
    receipt, piece = receive(store), store.piece("MOOR-9")
    actions.expect_piece(by=store.cast.archivist, piece=piece, container=receipt.container, source="wrap list")
    assert Standing.objects.get(piece=piece).last_seen is None
    assert Quarantine.objects.filter(piece=piece).count() == 1
    assert unpacking(receipt).expected == [piece]
    actions.list_known(by=store.cast.archivist, receipt=receipt, piece=piece)
    assert Standing.objects.get(piece=piece).last_seen == clock.today()
    assert unpacking(receipt).expected == []
    assert unpacking(receipt).listed == 1


# --- on the pages ---------------------------------------------------------------------------------------------------
def test_the_list_of_what_waits_says_the_oldest(store: Store, as_user: As) -> None:
    receive(store)
    page = as_user(store.cast.set_costumer).get(reverse("storage:received")).content.decode()
    assert "1 trunk is received and not listed, since today." in page


def posted(store: Store, **more: Any) -> dict[str, Any]:
    return {
        "place": "cage",
        "kind": "trunk",
        "production": "MOOR",
        "said": "9",
        "seal": "4711",
        "gross_g": "31",
        **more,
    }


def test_a_trunk_is_received_with_one_post_and_the_next_is_offered(store: Store, as_user: As) -> None:
    client, blank = as_user(store.cast.archivist), actions.make_blanks(by=store.cast.archivist, count=1)[0]
    page = client.post(
        reverse("storage:receive"), posted(store, label=f"HTTPS://A.EXAMPLE/Q/{blank.code}", another="1")
    )
    assert page.status_code == 302
    assert "production=MOOR" in page["Location"]
    receipt = Receipt.objects.get()
    assert (receipt.said, receipt.seal, receipt.gross_g) == (9, "4711", 31_000)
    assert Label.objects.get(pk=blank.pk).place == receipt.container
    again = client.get(page["Location"]).content.decode()
    assert 'value="MOOR" selected' in again
    assert "it becomes" in again
    trunk = client.get(reverse("storage:place", args=[receipt.container.code])).content.decode()
    assert "is received, not listed: 0 of 9 listed, two people to lift." in trunk
    assert "seal" in trunk


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"label": "M-0001"}, "M-0001 is a piece, not a trunk"),
        ({"label": "MAIN"}, "MAIN is a room, not a trunk"),
        ({"label": "nowhere"}, "Leave this empty and the trunk is given a number"),
        ({"place": "MAIN-2-1"}, "no place in the main store"),
        ({"place": ""}, "Put at: this is empty"),
        ({"said": "many"}, "that is no whole number"),
        ({"gross_g": "3 feet"}, "3 feet"),
        ({"production": "NONE"}, "none of the answers"),
    ],
)
def test_a_bad_arrival_is_told_at_its_field_and_stays_typed(
    store: Store, as_user: As, wrong: dict[str, str], sentence: str
) -> None:
    page = as_user(store.cast.archivist).post(reverse("storage:receive"), posted(store, **wrong))
    assert page.status_code == 422
    assert sentence in page.content.decode().replace("&#x27;", "'")
    assert 'value="4711"' in page.content.decode()
    assert not Receipt.objects.exists()


def test_unpacking_offers_the_next_number_and_keeps_the_kind(store: Store, as_user: As) -> None:
    receipt, client = receive(store), as_user(store.cast.archivist)
    url = reverse("storage:unpack", args=[receipt.container.code])
    assert 'value="MOOR-0001"' in client.get(url).content.decode()
    first = client.post(url, {"kind": "boots", "name": "sea boots", "number": "MOOR-0001", "client_id": str(uuid4())})
    after = client.get(first["Location"]).content.decode()
    assert "1 of 2 listed" in after
    assert "MOOR-0001 a left and b right" in after
    assert 'value="boots" selected' in after
    assert 'value="MOOR-0002"' in after
    taken = client.post(url, {"kind": "coat", "name": "pea coat", "number": "MOOR-0001"})
    assert taken.status_code == 422
    assert "The next free one: MOOR-0002" in taken.content.decode()
    assert 'value="pea coat"' in taken.content.decode()
    client.post(url, {"kind": "coat", "name": "pea coat", "number": ""})
    assert Piece.objects.filter(number="MOOR-0002").exists()
    done = client.post(reverse("storage:all_listed", args=[receipt.container.code]), {"note": ""})
    assert done.status_code == 302
    assert client.get(url).status_code == 302
    assert client.post(url, {"kind": "coat", "name": "late", "number": ""}).status_code == 302
    assert not Piece.objects.filter(name="late").exists()


def test_the_temporary_tag_is_one_press_and_what_is_recorded_in_it_is_one_tap(store: Store, as_user: As) -> None:
    receipt, client = receive(store, production=None), as_user(store.cast.archivist)
    url = reverse("storage:unpack", args=[receipt.container.code])
    page = client.post(url, {"kind": "gloves", "name": "one brown gauntlet", "unclear": "1"}, follow=True)
    told = page.content.decode()
    number = FoundThing.objects.get().number
    assert f"{number}, one brown gauntlet: tie a temporary tag with this number" in told
    assert "1 of 2 listed" in told
    assert reverse("storage:found_thing", args=[number]) in told
    piece = store.piece("MOOR-9")
    actions.expect_piece(by=store.cast.archivist, piece=piece, container=receipt.container, source="wrap list")
    assert "Recorded in it, not seen yet" in client.get(url).content.decode()
    after = client.post(reverse("storage:unpack_known", args=["T01"]), {"code": "MOOR-9"}, follow=True)
    assert "2 of 2 listed" in after.content.decode()


def test_a_short_count_needs_a_word_and_the_page_keeps_it(store: Store, as_user: As) -> None:
    receipt, client = receive(store), as_user(store.cast.archivist)
    page = client.post(reverse("storage:all_listed", args=[receipt.container.code]), {"note": ""})
    assert page.status_code == 422
    assert "0 of 2 listed: say why the count differs" in page.content.decode()
    place = client.post(reverse("storage:unpack_known", args=[receipt.container.code]), {"code": "MAIN"})
    assert "MAIN is a place, not a piece" in place.content.decode()


def test_a_trunk_of_no_known_production_asks_for_it_once(store: Store, as_user: As) -> None:
    receipt, client = receive(store, production=None), as_user(store.cast.archivist)
    url = reverse("storage:unpack", args=[receipt.container.code])
    assert "nothing was chosen" in client.post(url, {"kind": "coat", "name": "coat"}).content.decode()
    client.post(url, {"kind": "coat", "name": "coat", "production": "MOOR"})
    assert 'value="MOOR" selected' in client.get(url).content.decode()


def test_today_tells_how_many_wait_and_leads_to_the_oldest(store: Store) -> None:
    for days in (3, 12, 0):
        receive(store, received_on=clock.today() - timedelta(days=days))
    told = {matter.text: matter.url for matter in matters(store.cast.archivist, clock.today())}
    words = "3 trunks received and not listed: the oldest, T02, 12 days."
    assert told[words] == reverse("storage:unpack", args=["T02"])
    assert not any("not listed" in matter.text for matter in matters(store.cast.set_costumer, clock.today()))


def test_a_fixed_number_of_queries(store: Store, as_user: As, django_assert_max_num_queries: Any) -> None:
    receipts = [receive(store) for _ in range(4)]
    for number in range(4):
        piece = store.piece(f"MOOR-9{number}")
        actions.expect_piece(by=store.cast.archivist, piece=piece, container=receipts[0].container, source="list")
    for number in range(4):
        list_one(store, receipts[0], f"MOOR-{number + 1}")
    client = as_user(store.cast.archivist)
    with django_assert_max_num_queries(10):
        client.get(reverse("storage:received"))
    with django_assert_max_num_queries(20):
        client.get(reverse("storage:unpack", args=["T01"]))
