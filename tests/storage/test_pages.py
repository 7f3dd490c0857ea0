"""The pages of this room: the allowed, the wrong role, the stranger; bad input gets a sentence and stays typed."""

import re
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image

from catalog.access.duties import Duty
from catalog.access.permissions import ADDRESSES
from catalog.care.models import Quarantine
from catalog.storage import actions
from catalog.storage.models import Label, Move, Place, Standing
from tests.core.test_looks import jpeg
from tests.storage.world import Store

A, W, P, S, V = Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.PRODUCTION, Duty.SET_COSTUMER, Duty.VISITOR
EVERYBODY, STAFF, HANDS = set(Duty), {A, W, P, S}, {A, W, S}
# Address name, its argument, who may open it.
PAGES = [
    ("places", None, EVERYBODY),
    ("place", "BOX1", EVERYBODY),
    ("place", "MAIN", EVERYBODY),
    ("add_place", None, {A}),
    ("edit_place", "BOX1", {A}),
    ("edit_place", "MAIN", {A}),
    ("missing", None, STAFF),
    ("missing_file", "FILE", STAFF),
    ("found", None, STAFF),
    ("add_found", None, HANDS),
    ("found_thing", "FOUND", STAFF),
    ("found_picture", "PICTURE", STAFF),
    ("move_piece", "M-0001", HANDS),
    ("move_container", "BOX1", HANDS),
    ("mark_piece_missing", "M-0001", HANDS),
    ("mark_piece_found", "M-0001", HANDS),
    ("mark_container_missing", "BOX1", HANDS),
    ("mark_container_found", "BOX1", HANDS),
    ("labels", "LABEL", STAFF),
    ("label_pdf", "LABEL", STAFF),
    ("blanks", None, {A}),
    ("blanks_pdf", None, {A}),
    ("place_labels", "BOX1", {A}),
    ("place_labels_pdf", "BOX1", {A}),
    ("bind", "BLANK", {A}),
    ("receive", None, {A}),
    ("received", None, STAFF),
    ("unpack", "TRUNK", {A}),
]
POSTS = [
    ("log_search", "FILE", HANDS),
    ("measure_found", "FOUND", HANDS),
    ("picture_found", "FOUND", HANDS),
    ("know_again", "FOUND", {A}),
    ("move_found", "FOUND", HANDS),
    ("put_here", "BENCH", HANDS),
    ("rescue_list", "MAIN", {A}),
    ("issue_label", None, {A}),
    ("replace_label", None, {A}),
    ("unpack_known", "BOX1", {A}),
    ("all_listed", "BOX1", {A}),
    ("release_trunk", "BOX1", {A}),
]


def at(store: Store, name: str, argument: str | None) -> str:
    if argument == "LABEL":
        argument = actions.issue_label(by=store.cast.archivist, place=store["BOX1"]).code
    if argument == "BLANK":
        argument = actions.make_blanks(by=store.cast.archivist, count=1)[0].code
    if argument == "TRUNK":
        argument = actions.receive_trunk(by=store.cast.archivist, place=store["CAGE"]).container.code
    if argument == "FILE":
        argument = str(actions.mark_missing(by=store.cast.archivist, container=store["BOX2"], note="audit").pk)
    if argument in {"FOUND", "PICTURE"}:
        return _of_found(store, name, argument)
    if name == "blanks_pdf":
        actions.make_blanks(by=store.cast.archivist, count=1)
    if name == "place_labels_pdf":
        actions.issue_labels(by=store.cast.archivist, pieces=list(store.production.pieces.all()))
    return reverse(f"storage:{name}", args=[argument] if argument else [])


def _of_found(store: Store, name: str, argument: str) -> str:
    """Something was found, and a missing piece may be it."""
    by = store.cast.archivist
    actions.mark_missing(by=by, piece=store.production.pieces.get(number="M-0003"), note="audit")
    found = actions.take_in_found(
        by=by, name="coat", kind="coat", place=store["BENCH"], picture=jpeg(Image.new("RGB", (9, 9)))
    )
    args = [found.number, found.pictures.get().pk] if argument == "PICTURE" else [found.number]
    return reverse(f"storage:{name}", args=args)


def standing(number: str) -> Standing:
    return Standing.objects.select_related("place").get(piece__number=number)


@pytest.fixture
def archivist(store: Store, as_user: Callable[[Any], Client]) -> Client:
    return as_user(store.cast.archivist)


@pytest.mark.parametrize(("name", "argument", "who"), PAGES)
def test_each_page_opens_for_its_people_alone(store: Store, as_user, name: str, argument: str, who: set[Duty]) -> None:
    address = at(store, name, argument)
    for duty in Duty:
        expected = 200 if duty in who else 403
        assert as_user(store.cast.of(duty)).get(address).status_code == expected, duty
    stranger = as_user(None).get(address)
    assert stranger.status_code == 302
    assert stranger["Location"].startswith(reverse("access:sign_in"))


@pytest.mark.parametrize(("name", "argument", "who"), POSTS)
def test_each_act_is_for_its_people_alone(store: Store, as_user, name: str, argument: str, who: set[Duty]) -> None:
    address = at(store, name, argument)
    posted = {"code": "M-0003", "piece": "M-0003", "place": "BENCH", "thoroughness": "looked through"}
    assert as_user(None).post(address, posted)["Location"].startswith(reverse("access:sign_in"))
    assert as_user(store.cast.archivist).get(address).status_code == 405
    # A form without its picture or its place is shown again; a list is a file.
    done = {"rescue_list": 200, "picture_found": 422, "move_found": 422}.get(name, 302)
    for duty in Duty:
        assert as_user(store.cast.of(duty)).post(address, posted).status_code == (done if duty in who else 403), duty


def test_every_address_of_this_room_is_tried_here() -> None:
    tried = {f"storage:{name}" for name, _, _ in PAGES + POSTS} | {"storage:know_part_again"}  # test_found_ways.py
    assert tried == {name for name in ADDRESSES if name.startswith("storage:")}


def test_the_rooms_are_counted(store: Store, archivist: Client) -> None:
    page = archivist.get(reverse("storage:places")).content.decode()
    assert "3 pieces stand in 2 rooms." in page
    assert "17.0" in page
    assert "2 containers" in page


def test_the_rooms_take_the_same_queries_however_many(store: Store, as_user, django_assert_max_num_queries) -> None:
    client = as_user(store.cast.archivist)
    client.get(reverse("storage:places"))
    with django_assert_max_num_queries(12) as few:
        client.get(reverse("storage:places"))
    for number in range(12):
        store.place(f"NEW{number}", "room", "SITE")
        store.piece(f"N-{number:04d}", f"NEW{number}")
    with django_assert_max_num_queries(12) as many:
        client.get(reverse("storage:places"))
    assert len(few) == len(many)


@pytest.mark.parametrize("code", ["MAIN", "BOX1"])
def test_a_place_takes_the_same_queries_however_full(store: Store, as_user, code: str, django_assert_max_num_queries):
    client = as_user(store.cast.archivist)
    address = reverse("storage:place", args=[code])
    store.piece("N-1000", code, home="BENCH")
    client.get(address)
    with django_assert_max_num_queries(30) as few:
        client.get(address)
    store.place("DEEP", "box", code)
    for number in range(15):
        store.piece(f"N-{number:04d}", "DEEP" if number % 2 else code, home="BENCH")
    with django_assert_max_num_queries(30) as many:
        client.get(address)
    assert len(many) <= len(few) + 1


def test_a_trunk_tells_content_weights_and_lift(store: Store, archivist: Client) -> None:
    page = archivist.get(reverse("storage:place", args=["BOX1"])).content.decode()
    assert "Trunk BOX1: 2 pieces." in page
    assert ">13.0 kg<" in page.replace("</b>", "<")
    assert "21.0 kg" in page
    assert "Within the house limit of 23 kg for one person." in page
    assert "Local rules decide" in page
    store.piece("M-0005", "BOX1", weight_g=3000)
    page = archivist.get(reverse("storage:place", args=["BOX1"])).content.decode()
    assert "two people to lift" in page
    store.piece("M-0006", "BOX1")
    page = archivist.get(reverse("storage:place", args=["BOX1"])).content.decode()
    assert "at least" in page
    assert "1 not weighed" in page


def test_a_place_names_what_is_not_at_home_and_what_is_in_quarantine(store: Store, archivist: Client) -> None:
    Quarantine.objects.create(
        piece=standing("M-0003").piece, opened_on=date(2026, 1, 1), due_on=date(2026, 1, 15), reason="moth"
    )
    page = archivist.get(reverse("storage:place", args=["MAIN"])).content.decode()
    assert "In quarantine, so not to lie here: M-0003" in page
    assert "belongs at rack 2, level 1 (MAIN-2-1)" in page
    assert "belongs at rack 10, level 1 (MAIN-10-1)" in page
    assert "as for Main Hall" in archivist.get(reverse("storage:place", args=["MAIN-2-1"])).content.decode()


def test_a_visitor_sees_nothing_of_a_closed_production(store: Store, as_user) -> None:
    store.production.closed = True
    store.production.save()
    visitor, costumer = as_user(store.cast.visitor), as_user(store.cast.set_costumer)
    for code in ("MAIN", "BOX1"):
        page = visitor.get(reverse("storage:place", args=[code])).content.decode()
        assert "M-000" not in page
        assert "0 pieces" in page
        assert "M-000" in costumer.get(reverse("storage:place", args=[code])).content.decode()
    assert "0 pieces stand in" in visitor.get(reverse("storage:places")).content.decode()


def test_a_piece_is_moved_by_two_taps_and_a_second_press_is_harmless(store: Store, archivist: Client) -> None:
    address = reverse("storage:move_piece", args=["M-0003"])
    shown = archivist.get(f"{address}?to=BENCH").content.decode()
    client_id = re.search(r'name="client_id" value="([^"]+)"', shown)[1]
    posted = {"to": "bench", "reason": "loose button", "client_id": client_id}
    for _ in range(2):
        assert archivist.post(address, posted)["Location"] == reverse("desk:piece", args=["M-0003"])
    assert standing("M-0003").place.code == "BENCH"
    assert Move.objects.filter(piece__number="M-0003", to_place__code="BENCH").count() == 1


@pytest.mark.parametrize(
    ("to", "sentence"),
    [
        ("", "this is empty. Fill it in."),
        ("NOWHERE", "No piece, place or label is called “NOWHERE”"),
        ("M-0001", "M-0001 is a piece, not a place"),
        ("MUSEUM", "away from the store"),
        ("BOX3", "Did you mean BOX1, BOX2?"),
    ],
)
def test_a_wrong_place_gets_a_sentence_and_keeps_what_was_typed(
    store: Store, archivist: Client, to: str, sentence: str
) -> None:
    answer = archivist.post(reverse("storage:move_piece", args=["M-0003"]), {"to": to, "reason": "kept words"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in page
    assert 'value="kept words"' in page
    assert "<title>Error: " in page
    assert standing("M-0003").place.code == "MAIN-10-1"


def test_a_trunk_is_not_put_inside_itself_by_the_page(store: Store, archivist: Client) -> None:
    store.place("INNER", "box", "BOX1")
    answer = archivist.post(reverse("storage:move_container", args=["BOX1"]), {"to": "INNER"})
    assert "BOX1 cannot be put inside INNER, which lies in BOX1." in answer.content.decode()
    assert archivist.post(reverse("storage:move_container", args=["BOX1"]), {"to": "BENCH"}).status_code == 302
    assert store["BOX1"].parent.code == "BENCH"
    assert archivist.get(reverse("storage:move_container", args=["MAIN"])).status_code == 404


def test_things_are_put_into_a_place_one_scan_after_another(store: Store, archivist: Client) -> None:
    address = reverse("storage:put_here", args=["BENCH"])
    code = actions.issue_label(by=store.cast.archivist, place=store["BOX2"]).code
    assert archivist.post(address, {"code": "m-0003"})["Location"].endswith("?put=M-0003")
    assert archivist.post(address, {"code": code}).status_code == 302
    assert standing("M-0003").place.code == store["BOX2"].parent.code == "BENCH"
    refused = archivist.post(address, {"code": "M-9999"}).content.decode()
    assert "No piece, place or label is called “M-9999”" in refused
    assert 'value="M-9999"' in refused
    assert "stays where it is" in archivist.post(address, {"code": "MAIN"}).content.decode()


def test_a_place_is_added_and_changed(store: Store, archivist: Client) -> None:
    facts = {"code": "CASE9", "name": "flight case", "kind": "crate", "parent": "BENCH", "home": "main-2-1"}
    facts |= {"order": "3", "tare_g": "4.5", "target_c": "", "width_mm": "1.2 m"}
    assert archivist.post(reverse("storage:add_place"), facts)["Location"] == reverse("storage:place", args=["CASE9"])
    made = Place.objects.get(code="CASE9")
    assert (made.parent.code, made.home.code, made.tare_g, made.width_mm) == ("BENCH", "MAIN-2-1", 4500, 1200)
    changed = {"name": "case with wheels", "kind": "crate", "home": "", "order": "3", "target_c": "12.5"}
    archivist.post(reverse("storage:edit_place", args=["CASE9"]), changed)
    made.refresh_from_db()
    assert (made.name, made.home, made.target_c_tenths, made.parent.code) == ("case with wheels", None, 125, "BENCH")


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"code": "box1"}, "There is a place of this code."),
        ({"code": "a b"}, "cannot be a code"),
        ({"code": "labels"}, "cannot be a code"),
        ({"kind": "shelf", "parent": "BOX1"}, "cannot lie in BOX1, which moves"),
        ({"kind": "shelf", "home": "MAIN"}, "Only a container has a home"),
        ({"parent": "NOWHERE"}, "No piece, place or label is called"),
        ({"target_rh": "140"}, "give a number from 0 to 100"),
        ({"tare_g": "heavy"}, "is no weight"),
    ],
)
def test_a_place_that_cannot_be_is_refused_with_a_sentence(
    store: Store, archivist: Client, change: dict[str, str], sentence: str
) -> None:
    facts = {"code": "NEW1", "name": "new", "kind": "crate", "order": "0"} | change
    answer = archivist.post(reverse("storage:add_place"), facts)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Place.objects.filter(code="NEW1").exists()


def test_a_shelf_is_not_hung_under_itself_nor_made_a_trunk(store: Store, archivist: Client) -> None:
    answer = archivist.post(
        reverse("storage:edit_place", args=["MAIN"]), {"name": "x", "kind": "room", "order": "0", "parent": "MAIN-2-1"}
    )
    assert "MAIN cannot be put inside MAIN-2-1, which lies in MAIN." in answer.content.decode()
    answer = archivist.post(reverse("storage:edit_place", args=["MAIN"]), {"name": "x", "kind": "trunk", "order": "0"})
    assert "no known word" in answer.content.decode() or "none of the answers" in answer.content.decode()


def test_a_trunk_is_missed_and_found_by_the_pages(store: Store, archivist: Client) -> None:
    asked = archivist.get(reverse("storage:mark_container_missing", args=["BOX1"])).content.decode()
    assert "The 2 pieces in it will count as not found too" in asked
    archivist.post(
        reverse("storage:mark_container_missing", args=["BOX1"]), {"note": "audit", "last_seen": "2019-03-06"}
    )
    listed = archivist.get(reverse("storage:missing")).content.decode()
    assert "1 thing is not found, and 2 pieces with it." in listed
    assert "6&nbsp;Mar&nbsp;2019" in listed.replace("\u00a0", "&nbsp;")
    one, two = standing("M-0001").piece, standing("M-0002").piece
    found = reverse("storage:mark_container_found", args=["BOX1"])
    page = archivist.get(found).content.decode()
    assert "checked" not in page
    assert "All 2 are here" in page
    answer = archivist.post(found, {"at": "BENCH", "counted": [one.pk]}, follow=True)
    assert "BOX1 is back at BENCH. 1 of 2 counted in it; 1 stays not found." in answer.content.decode()
    assert (standing("M-0001").state, standing("M-0002").state) == ("in store", "not found")
    archivist.post(reverse("storage:mark_piece_found", args=[two.number]), {"at": "BOX1"})
    assert standing("M-0002").place.code == "BOX1"
    assert "Nothing is missing." in archivist.get(reverse("storage:missing")).content.decode()


@pytest.mark.parametrize(("said", "state"), [({"all_here": "1"}, "in store"), ({}, "not found")])
def test_what_a_found_trunk_holds_is_said_and_never_assumed(
    store: Store, archivist: Client, said: dict[str, str], state: str
) -> None:
    archivist.post(reverse("storage:mark_container_missing", args=["BOX1"]), {"note": "audit"})
    found = reverse("storage:mark_container_found", args=["BOX1"])
    assert archivist.post(found, {"at": "BENCH", **said}).status_code == 302
    assert {standing(number).state for number in ("M-0001", "M-0002")} == {state}
    assert store["BOX1"].state == "in store"


def test_a_label_is_issued_printed_and_replaced(store: Store, archivist: Client) -> None:
    first = archivist.post(reverse("storage:issue_label"), {"place": "BOX1"})["Location"]
    page = archivist.get(first).content.decode()
    assert "label-trunk" in page
    assert "HTTPS://" in page
    assert "label-tag" in archivist.get(f"{first}?size=tag").content.decode()
    second = archivist.post(reverse("storage:replace_label"), {"place": "BOX1"})["Location"]
    assert second != first
    assert "This label was replaced" in archivist.get(first).content.decode()
    assert archivist.post(reverse("storage:issue_label"), {}).status_code == 409
    assert archivist.get(reverse("storage:labels", args=["P999990"])).status_code == 404


def test_blanks_are_printed_and_bound(store: Store, archivist: Client) -> None:
    made = archivist.post(reverse("storage:blanks"), {"count": "3", "sheet": "a4-21", "start": "20"})["Location"]
    page = archivist.get(made).content.decode()
    assert "3 blank labels, ready to print" in page
    assert page.count('class="label-sheet') == 2
    assert page.count('<svg class="label-qr"') == 3
    blank = Label.objects.filter(letter="B").first()
    bind = reverse("storage:bind", args=[blank.code])
    assert "No piece, place or label" in archivist.post(bind, {"thing": "nothing"}).content.decode()
    assert archivist.post(bind, {"thing": "M-0001"})["Location"] == reverse("desk:piece", args=["M-0001"])
    assert archivist.get(bind)["Location"] == reverse("desk:piece", args=["M-0001"])
    for odd in (
        "first=x&count=1&start=1",
        "first=1&count=9999&start=1",
        "first=1&count=1&start=99",
        "sheet=none&first=1",
    ):
        assert archivist.get(f"{reverse('storage:blanks')}?{odd}").status_code == 200
    answer = archivist.post(reverse("storage:blanks"), {"count": "3", "sheet": "a4-21", "start": "25"}).content.decode()
    assert "This sheet has 21 labels." in answer
