"""The rescue list: order, photo, weight, lift, dates on each page, who took one; and who may not."""

from io import BytesIO
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from PIL import Image

from catalog.access.duties import Duty
from catalog.core import clock
from catalog.core.errors import NotAllowed, Refused
from catalog.core.history import lines_of
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece
from catalog.storage import actions
from catalog.storage.rescue_pdf import WARNING
from catalog.storage.rescue_queries import rescue_of
from tests.papers import pages_of, words_of
from tests.storage.world import Store


def piece(store: Store, number: str) -> Piece:
    return store.production.pieces.get(number=number)


def value(store: Store, number: str, amount: int) -> None:
    pieces.value_piece(
        by=store.cast.archivist,
        piece=piece(store, number),
        amount=amount,
        currency="EUR",
        valued_on=clock.today(),
    )


def photo(store: Store, number: str) -> None:
    stream = BytesIO()
    Image.new("RGB", (400, 300), "#a03020").save(stream, "JPEG")
    pieces.add_picture(by=store.cast.archivist, piece=piece(store, number), data=stream.getvalue())


def printed(store: Store, as_user: Any, place: str = "MAIN", size: str = "a4") -> bytes:
    answer = as_user(store.cast.archivist).post(f"/storage/{place}/rescue/", {"size": size})
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Cache-Control"] == "private, no-store"
    data: bytes = answer.content
    return data


def test_the_most_valuable_comes_first_and_no_value_is_told(store: Store, as_user: Any) -> None:
    value(store, "M-0002", 98765)
    value(store, "M-0003", 43210)
    photo(store, "M-0002")
    data = printed(store, as_user)
    words = words_of(data)
    assert words.index("M-0002") < words.index("M-0003") < words.index("M-0001")
    assert "98765" not in words.replace(",", "")
    assert "43210" not in words.replace(",", "")
    assert "1 of them nobody has valued" in words
    assert "3 pieces to carry out" in words
    assert words.count("no photo") == 2
    for page in words.split("\f")[:-1]:
        assert "Printed " in page
        assert " by archivist" in page
        assert WARNING[:40] in page
        assert "/storage/MAIN/" in page
    # 19 mm of photo at 60 dpi: 45 x 34 dots of one grey.
    shades = pages_of(data, 60)[0].histogram()
    assert max(shades[60:100]) > 1200, "the photo of the one piece that has one"


def test_weights_lifts_and_cautions_stand_beside(store: Store, as_user: Any) -> None:
    store.piece("M-0009", "MAIN-2-1", weight_g=40_000)
    store.piece("M-0010", "MAIN-10-1")
    words = words_of(printed(store, as_user))
    tight = " ".join(words.split())
    assert "two people" in tight
    assert "weigh it first, above reach" in tight
    assert "not weighed" in tight
    assert "materials not recorded" in tight
    assert "21.0 kg" in tight, "trunk BOX1: 9 + 4 kg in it and 8 kg of its own"
    assert "HSE INDG143" in tight
    assert "Local rules decide." in tight


def test_who_took_one_is_kept(store: Store, as_user: Any) -> None:
    printed(store, as_user, size="letter")
    line = lines_of(store["MAIN"].subject)[0]
    assert (line.verb, line.by_name, line.reason) == ("rescue list printed", "archivist", "3 pieces")


@pytest.mark.parametrize("duty", [duty for duty in Duty if duty is not Duty.ARCHIVIST])
def test_nobody_else_gets_one(store: Store, as_user: Any, duty: Duty) -> None:
    person = store.cast.of(duty)
    assert as_user(person).post("/storage/MAIN/rescue/").status_code == 403
    assert "Rescue list" not in as_user(person).get("/storage/MAIN/").content.decode()
    with pytest.raises(NotAllowed):
        actions.take_rescue_list(by=person, place=store["MAIN"])
    assert not lines_of(store["MAIN"].subject).filter(verb="rescue list printed").exists()


def test_a_stranger_and_a_plain_opening_get_none(store: Store, as_user: Any) -> None:
    assert "/sign-in/" in as_user(None).post("/storage/MAIN/rescue/")["Location"]
    assert as_user(store.cast.archivist).get("/storage/MAIN/rescue/").status_code == 405
    assert "Print on A4" in as_user(store.cast.archivist).get("/storage/MAIN/").content.decode()


def test_a_room_without_content_and_a_strange_paper_are_told(store: Store, as_user: Any) -> None:
    archivist = as_user(store.cast.archivist)
    with pytest.raises(Refused, match="holds nothing in store"):
        actions.take_rescue_list(by=store.cast.archivist, place=store["CAGE"])
    answer = archivist.post("/storage/CAGE/rescue/")
    assert 400 <= answer.status_code < 500
    assert "holds nothing in store" in answer.content.decode()
    assert "There is no paper “a0”" in archivist.post("/storage/MAIN/rescue/", {"size": "a0"}).content.decode()
    assert not lines_of(store["CAGE"].subject).filter(verb="rescue list printed").exists()


def test_a_long_list_is_cut_and_says_so(store: Store, as_user: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("catalog.storage.rescue_queries.MOST", 2)
    words = words_of(printed(store, as_user))
    assert "Only the first 2 are listed" in words
    assert "3 pieces to carry out" in words


def test_it_asks_no_more_for_more(store: Store) -> None:
    with CaptureQueriesContext(connection) as few:
        rescue_of(store["MAIN"])
    for number in range(20, 30):
        store.piece(f"M-00{number}", "BOX1")
    store.place("BOX3", "box", "MAIN-2-1", tare_g=500)
    with CaptureQueriesContext(connection) as many:
        rescue_of(store["MAIN"])
    assert len(many) == len(few)
