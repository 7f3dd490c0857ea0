"""The file of a missing thing: what it says, the search log, found where it was looked for."""

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from catalog.access.duties import Duty
from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.core.history import lines_of
from catalog.pieces.actions import value_piece
from catalog.storage import actions
from catalog.storage.missing_models import SearchLine
from catalog.storage.models import MissingFile, Standing
from catalog.storage.search_queries import percent, search_for
from tests.storage.world import Store

As = Callable[[Any], Client]
ON = datetime(2031, 5, 1, 9, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _on_the_day() -> Iterator[None]:
    with time_machine.travel(ON, tick=False):
        yield


@pytest.fixture
def file(store: Store) -> MissingFile:
    """M-0003 was brought to rack 10 by the archivist, and is not there."""
    with time_machine.travel("2031-06-20 09:00Z", tick=False):
        piece = store.production.pieces.get(number="M-0003")
        return actions.mark_missing(by=store.cast.archivist, piece=piece, note="not on its shelf")


def page_of(file: MissingFile) -> str:
    return reverse("storage:missing_file", args=[file.pk])


def text(client: Client, address: str) -> str:
    return client.get(address).content.decode().replace("\u00a0", " ")


def post(client: Client, file: MissingFile, **facts: Any) -> Any:
    posted = {"place": "BENCH", "thoroughness": "looked through", "client_id": str(uuid4())} | facts
    return client.post(reverse("storage:log_search", args=[file.pk]), posted)


def test_the_file_says_what_is_sure(store: Store, file: MissingFile, as_user: As) -> None:
    page = text(as_user(store.cast.archivist), page_of(file))
    for told in ("is looked for", "1 May 2031", "20 Jun 2031", "MAIN-10-1", "not on its shelf", "not valued"):
        assert told in page, told
    assert "Last in hand" in page
    assert page.count('class="act"') == 1


def test_the_value_is_for_those_who_may_see_values(store: Store, file: MissingFile, as_user: As) -> None:
    value_piece(
        by=store.cast.archivist, piece=file.piece, amount=Decimal("250.00"), currency="EUR", valued_on=date(2030, 1, 1)
    )
    sees = {duty: "EUR 250" in text(as_user(store.cast.of(duty)), page_of(file)) for duty in Duty}
    assert {duty for duty, seen in sees.items() if seen} == {Duty.ARCHIVIST, Duty.PRODUCTION}


def test_a_search_in_vain_is_a_row_and_a_line_and_reweights(store: Store, file: MissingFile, as_user: As) -> None:
    before = {look.place.code: look.ranked.chance for look in search_for(file.piece, file).looks}
    answer = post(as_user(store.cast.archivist), file, place="MAIN-10-1", note="behind the coats too")
    assert answer["Location"] == page_of(file)
    (line,) = SearchLine.objects.all()
    assert (line.place.code, line.thoroughness, line.found, line.note) == (
        "MAIN-10-1",
        "looked through",
        False,
        "behind the coats too",
    )
    told = lines_of(file.piece.subject)[0]
    assert (told.verb, told.after) == ("searched", {"search": "MAIN-10-1 looked through, not found"})
    after = {look.place.code: look.ranked.chance for look in search_for(file.piece, file).looks}
    assert after["MAIN-10-1"] < before["MAIN-10-1"]
    assert all(after[code] > before[code] for code in set(after) & set(before) - {"MAIN-10-1"})
    page = text(as_user(store.cast.archivist), page_of(file))
    assert "behind the coats too" in page
    assert "searched 1 time already" in page


def test_a_second_press_adds_nothing(store: Store, file: MissingFile, as_user: As) -> None:
    same = str(uuid4())
    for _ in range(2):
        post(as_user(store.cast.archivist), file, client_id=same)
    assert SearchLine.objects.count() == 1
    assert lines_of(file.piece.subject).filter(verb="searched").count() == 1


def test_found_here_closes_the_file(store: Store, file: MissingFile, as_user: As) -> None:
    post(as_user(store.cast.set_costumer), file, found="1", note="under a rug")
    standing = Standing.objects.get(piece=file.piece)
    assert (standing.state, standing.place.code) == ("in store", "BENCH")
    file.refresh_from_db()
    assert file.outcome == "found at BENCH"
    assert SearchLine.objects.get().found
    page = text(as_user(store.cast.archivist), page_of(file))
    assert "M-0003 was missing and is found at BENCH." in page
    with pytest.raises(WrongState, match="closed"):
        actions.log_search(by=store.cast.archivist, file=file, place=store["BENCH"])
    assert "missing file is closed" in post(as_user(store.cast.archivist), file).content.decode()


def test_a_container_is_counted_when_it_is_found(store: Store, as_user: As) -> None:
    file = actions.mark_missing(by=store.cast.archivist, container=store["BOX1"], note="audit")
    answer = post(as_user(store.cast.archivist), file, found="1")
    assert answer["Location"] == reverse("storage:mark_container_found", args=["BOX1"]) + "?at=BENCH"
    assert 'value="BENCH"' in as_user(store.cast.archivist).get(answer["Location"]).content.decode()
    with pytest.raises(TypeError, match="counted"):
        actions.find_here(by=store.cast.archivist, file=file, place=store["BENCH"], thoroughness="emptied")
    store.place("INNER", "box", "BOX1")
    with pytest.raises(Refused, match="in what is looked for"):
        actions.log_search(by=store.cast.archivist, file=file, place=store["INNER"])


def test_bad_input_is_said_and_stays(store: Store, file: MissingFile, as_user: As) -> None:
    page = post(as_user(store.cast.archivist), file, place="NOWHERE", note="typed").content.decode()
    assert "NOWHERE" in page
    assert 'value="typed"' in page
    page = post(as_user(store.cast.archivist), file, thoroughness="hard").content.decode()
    assert "How thoroughly" in page
    assert not SearchLine.objects.exists()


def test_who_may_not_move_may_not_log(store: Store, file: MissingFile, as_user: As) -> None:
    with pytest.raises(NotAllowed):
        actions.log_search(by=store.cast.production, file=file, place=store["BENCH"])
    page = text(as_user(store.cast.production), page_of(file))
    assert "Searched, not here" not in page
    assert "Look for" in page
    assert as_user(store.cast.archivist).get(reverse("storage:missing_file", args=[999_999])).status_code == 404


def test_the_database_refuses_an_unknown_thoroughness(store: Store, file: MissingFile) -> None:
    line = actions.log_search(by=store.cast.archivist, file=file, place=store["BENCH"])
    with pytest.raises(IntegrityError), transaction.atomic():
        SearchLine.objects.filter(pk=line.pk).update(thoroughness="hard")


def test_the_page_takes_the_same_queries_however_much_was_searched(
    store: Store, file: MissingFile, django_assert_max_num_queries: Any
) -> None:
    with django_assert_max_num_queries(20) as few:
        search_for(file.piece, file)
    for number in range(12):
        shelf = store.place(f"MAIN-3-{number}", "level", "MAIN")
        store.piece(f"R-{number:04d}", f"MAIN-3-{number}")
        actions.log_search(by=store.cast.archivist, file=file, place=shelf)
    with django_assert_max_num_queries(20) as many:
        search_for(file.piece, file)
    assert len(few) == len(many)


def test_what_a_list_received_at_home_moved_nowhere(store: Store, file: MissingFile) -> None:
    def beside() -> set[str]:
        looks = search_for(file.piece, file).looks
        return {look.place.code for look in looks for one in look.ranked.reasons if one.source == "same days"}

    store.place("MAIN-7-1", "level", "MAIN")
    store.piece("L-0001", "MAIN-7-1")
    assert beside() == set()
    piece = store.production.pieces.get(number="L-0001")
    actions.move_piece(by=store.cast.archivist, piece=piece, to=store["BENCH"], reason="tidied")
    assert beside() == {"BENCH"}


@pytest.mark.parametrize(("chance", "words"), [(0.0, "below 1 %"), (0.0099, "below 1 %"), (0.17, "17 %"), (1, "100 %")])
def test_chances_are_said_in_whole_percent(chance: float, words: str) -> None:
    assert percent(chance) == words
