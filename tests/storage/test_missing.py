"""Losing and finding: a trunk takes its content along, and brings back only what was counted."""

from datetime import UTC, date, datetime

import pytest
import time_machine

from catalog.core.errors import WrongState
from catalog.core.history import lines_of
from catalog.storage import actions, place_queries
from catalog.storage.models import MissingFile, Standing
from tests.storage.world import Store


@pytest.fixture(autouse=True)
def _on_the_day():
    with time_machine.travel("2031-05-01 09:00Z", tick=False):
        yield


def standing(number: str) -> Standing:
    return Standing.objects.select_related("place", "piece").get(piece__number=number)


def test_a_lost_piece_has_no_place_and_a_file_that_names_the_last(store: Store) -> None:
    piece = standing("M-0003").piece
    file = actions.mark_missing(by=store.cast.archivist, piece=piece, note="not on its shelf")
    assert (file.last_place.code, file.last_seen) == ("MAIN-10-1", date(2031, 5, 1))
    assert (standing("M-0003").state, standing("M-0003").place) == ("not found", None)
    line = lines_of(piece.subject)[0]
    assert line.after == {"place": None, "state": "not found", "missing": "file opened"}
    with pytest.raises(WrongState, match="being looked for already"):
        actions.mark_missing(by=store.cast.archivist, piece=piece, note="again")
    with pytest.raises(WrongState, match="say that it was found"):
        actions.move_piece(by=store.cast.archivist, piece=piece, to=store["BENCH"])
    closed = actions.mark_found(by=store.cast.set_costumer, piece=piece, at=store["BENCH"], note="under a rug")
    assert (closed.pk, closed.outcome) == (file.pk, "found at BENCH")
    assert (standing("M-0003").state, standing("M-0003").place.code) == ("in store", "BENCH")
    with pytest.raises(WrongState, match="is not missing"):
        actions.mark_found(by=store.cast.archivist, piece=piece, at=store["BENCH"])
    assert MissingFile.objects.count() == 1


def test_a_lost_trunk_takes_its_content_along(store: Store) -> None:
    store.place("INNER", "box", "BOX1")
    store.piece("M-0004", "INNER")
    actions.mark_missing(
        by=store.cast.archivist,
        container=store["BOX1"],
        note="audit",
        last_seen=date(2019, 3, 6),
        happened=datetime(2024, 10, 14, tzinfo=UTC),
    )
    assert (store["BOX1"].state, store["BOX1"].parent, store["BOX1"].last_seen) == ("not found", None, date(2019, 3, 6))
    assert (store["INNER"].state, store["INNER"].parent.code) == ("not found", "BOX1")
    assert {n: standing(n).state for n in ("M-0001", "M-0002", "M-0003", "M-0004")} == {
        "M-0001": "not found",
        "M-0002": "not found",
        "M-0003": "in store",
        "M-0004": "not found",
    }
    assert standing("M-0004").place.code == "INNER"
    assert lines_of(standing("M-0004").piece.subject)[0].after == {"state": "not found", "missing": "BOX1"}
    assert MissingFile.objects.get().opened_on == date(2024, 10, 14)


def test_a_found_trunk_brings_its_content_back(store: Store) -> None:
    store.place("INNER", "box", "BOX1")
    store.piece("M-0004", "INNER")
    actions.mark_missing(by=store.cast.archivist, container=store["BOX1"], note="audit")
    with time_machine.travel("2031-06-01 09:00Z", tick=False):
        file = actions.mark_found(by=store.cast.archivist, container=store["BOX1"], at=store["BENCH"], note="bench")
    assert file.closed_on == date(2031, 6, 1)
    assert (store["BOX1"].state, store["BOX1"].parent.code, store["INNER"].state) == ("in store", "BENCH", "in store")
    for number in ("M-0001", "M-0002", "M-0004"):
        assert (standing(number).state, standing(number).last_seen) == ("in store", date(2031, 6, 1))
        assert lines_of(standing(number).piece.subject)[0].verb == "found"
    assert not MissingFile.objects.filter(closed_on__isnull=True).exists()


def test_what_was_not_counted_stays_lost_with_a_file_of_its_own(store: Store) -> None:
    actions.mark_missing(by=store.cast.archivist, container=store["BOX1"], note="audit")
    seen = [standing("M-0001").piece]
    actions.mark_found(by=store.cast.archivist, container=store["BOX1"], at=store["BENCH"], counted=seen)
    assert standing("M-0001").state == "in store"
    assert (standing("M-0002").state, standing("M-0002").place) == ("not found", None)
    file = MissingFile.objects.get(closed_on__isnull=True)
    assert (file.piece.number, file.last_place.code) == ("M-0002", "BOX1")
    assert lines_of(file.piece.subject)[0].reason == "BOX1 was found; it was not counted in it"


def test_a_piece_received_as_lost_gets_its_file_unless_its_trunk_is_lost(store: Store) -> None:
    actions.mark_missing(by=store.cast.archivist, container=store["BOX1"], note="audit")
    with_trunk, alone = store.piece("M-0020"), store.piece("M-0021")
    actions.receive_piece(by=store.cast.archivist, piece=with_trunk, place=store["BOX1"], state="not found")
    actions.receive_piece(by=store.cast.archivist, piece=alone, home=store["MAIN-2-1"], state="not found")
    assert list(MissingFile.objects.filter(piece__isnull=False).values_list("piece__number")) == [("M-0021",)]
    found = place_queries.missing_list()
    assert (found["count"], found["with_them"]) == (2, 3)
    assert [s.piece.number for s in found["boxes"][0][2]] == ["M-0001", "M-0002", "M-0020"]


def test_a_lost_trunk_cannot_be_found_inside_itself(store: Store) -> None:
    store.place("INNER", "box", "BOX1")
    actions.mark_missing(by=store.cast.archivist, container=store["BOX1"], note="audit")
    with pytest.raises(Exception, match="cannot be put inside"):
        actions.mark_found(by=store.cast.archivist, container=store["BOX1"], at=store["INNER"])
    with pytest.raises(TypeError, match="a piece or a container"):
        actions.mark_found(by=store.cast.archivist, at=store["BENCH"])


def test_the_list_takes_the_same_queries_however_long(store: Store, django_assert_num_queries) -> None:
    actions.mark_missing(by=store.cast.archivist, container=store["BOX1"], note="audit")
    with django_assert_num_queries(5):
        place_queries.missing_list()
    actions.mark_missing(by=store.cast.archivist, container=store["BOX2"], note="audit")
    for number in ("M-0003",):
        actions.mark_missing(by=store.cast.archivist, piece=standing(number).piece, note="audit")
    with django_assert_num_queries(5):
        place_queries.missing_list()
