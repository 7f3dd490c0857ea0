"""What a scan means while something is looked for, and a container that turns up under another label."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from catalog.core.errors import NotAllowed
from catalog.core.history import lines_of
from catalog.storage import actions
from catalog.storage.models import Label, MissingFile, Standing
from catalog.storage.seen_there import codes_of, seen_there, turned_up
from tests.storage.world import Store

As = Callable[[Any], Client]


@pytest.fixture
def box(store: Store) -> MissingFile:
    """BOX1 is looked for, with M-0001 and M-0002 in it."""
    return actions.mark_missing(by=store.cast.archivist, container=store["BOX1"], note="audit")


def lost(store: Store) -> list[Any]:
    return list(store.production.pieces.filter(standing__place=store["BOX1"]).order_by("number"))


# What is scanned: where it leads at once, or what is said and which page is offered.
SCANS = (
    ("BENCH", "?place=BENCH", ""),
    ("box1", "/storage/BOX1/found/?at=MAIN-10-1", ""),
    ("M-0002", "/storage/BOX1/found/?at=MAIN-10-1&seen=M-0002", ""),
    ("M-0003", "", "M-0003 is not what is looked for. By the record it is at MAIN-10-1."),
    ("B0X1", "", "No piece, place or label is called “B0X1”."),
    ("BOX2", "", "BOX2 is another crate, by the record at MAIN-2-1."),
)


@pytest.mark.parametrize(("text", "go", "sentence"), SCANS)
def test_what_a_scan_means_while_a_trunk_is_looked_for(
    store: Store, box: MissingFile, text: str, go: str, sentence: str
) -> None:
    there = seen_there(box, store["MAIN-10-1"], text, store.cast.archivist)
    assert there.go.endswith(go) if go else there.go == ""
    assert sentence in there.sentence
    if text in {"B0X1", "BOX2"}:
        assert there.link == f"/storage/BOX1/found/?at=MAIN-10-1&reads={text}"


def test_a_label_that_reads_like_the_lost_one_is_told(store: Store) -> None:
    """Two signs swapped, as the invented archive's trunk 14 that reads 41."""
    store.place("T14", "trunk", "BENCH")
    file = actions.mark_missing(by=store.cast.archivist, container=store["T14"], note="audit")
    assert "T14 may have been misread so." in seen_there(file, None, "T41", store.cast.archivist).sentence
    assert "misread so" not in seen_there(file, None, "T99", store.cast.archivist).sentence


def test_what_a_scan_means_while_a_piece_is_looked_for(store: Store, box: MissingFile) -> None:
    piece, archivist = store.production.pieces.get(number="M-0003"), store.cast.archivist
    file = actions.mark_missing(by=archivist, piece=piece, note="gone")
    assert seen_there(file, store["BENCH"], "M-0003", archivist).go == "/storage/piece/M-0003/found/?at=BENCH"
    assert seen_there(file, None, "MAIN-10-1", archivist).go.endswith("?place=MAIN-10-1")
    too = seen_there(file, store["BENCH"], "M-0001", archivist)
    assert (too.sentence, too.link) == ("M-0001 is missing too.", "/storage/piece/M-0001/found/?at=BENCH")
    assert seen_there(file, store["BENCH"], "no such", archivist).link == "/storage/found/add/?place=BENCH"


def test_scans_in_a_trunk_are_held_against_its_list(store: Store, box: MissingFile) -> None:
    label = actions.issue_label(by=store.cast.archivist, piece=store.production.pieces.get(number="M-0002"))
    pieces = lost(store)
    both = turned_up(store["BOX1"], pieces, ["M-0001", "M-0001"], label.code, store.cast.archivist)
    assert [piece.number for piece in both.pieces] == ["M-0001", "M-0002"]
    other = turned_up(store["BOX1"], pieces, ["M-0001"], "M-0003", store.cast.archivist)
    assert other.problem == "M-0003 is not on BOX1's list. By the record it is at MAIN-10-1."
    assert set(codes_of(pieces)) == {"M-0001", "M-0002", label.code}


def test_found_under_another_label_is_one_act_with_a_new_label(store: Store, box: MissingFile, as_user: As) -> None:
    old = actions.issue_label(by=store.cast.archivist, place=store["BOX1"])
    archivist, address = as_user(store.cast.archivist), reverse("storage:mark_container_found", args=["BOX1"])
    page = archivist.get(f"{address}?at=BENCH&reads=B0X1&seen=M-0001").content.decode()
    assert "Is it BOX1? Its label reads B0X1." in page
    assert "1 of 2 on BOX1’s list is in it." in page
    facts = {"at": "BENCH", "reads": "B0X1", "counted": [piece.pk for piece in lost(store)]}
    assert "Its label" in archivist.post(address, facts).content.decode(), "the question about the label is asked"
    answer = archivist.post(address, facts | {"new_label": "yes", "note": "under the bench"})
    new = Label.objects.get(place=store["BOX1"], retired_at=None)
    assert answer["Location"] == reverse("storage:labels", args=[new.code])
    assert new.code != old.code
    told = {line.verb: line.reason for line in lines_of(store["BOX1"].subject)[:2]}
    assert told == {"label replaced": "its label read B0X1", "found": "its label read B0X1. under the bench"}
    assert Standing.objects.filter(place=store["BOX1"], state="in store").count() == 2


def test_who_may_not_make_labels_is_not_asked_and_may_not(store: Store, box: MissingFile, as_user: As) -> None:
    address = reverse("storage:mark_container_found", args=["BOX1"])
    page = as_user(store.cast.set_costumer).get(f"{address}?at=BENCH&reads=B0X1").content.decode()
    assert "Make a new one" not in page
    with pytest.raises(NotAllowed):
        actions.find_relabelled(by=store.cast.set_costumer, container=store["BOX1"], at=store["BENCH"], reads="B0X1")
    answer = as_user(store.cast.set_costumer).post(address, {"at": "BENCH", "reads": "B0X1", "all_here": "1"})
    assert answer["Location"] == "/storage/BOX1/"
    assert lines_of(store["BOX1"].subject)[0].reason == "its label reads B0X1"


def test_the_search_page_answers_a_scan(store: Store, box: MissingFile, as_user: As) -> None:
    address = reverse("storage:missing_file", args=[box.pk])
    archivist = as_user(store.cast.archivist)
    page = archivist.get(f"{address}?place=BENCH&code=B0X1")
    assert page.status_code == 200
    assert "Compare what is in it with BOX1&#x27;s list" in page.content.decode()
    assert archivist.get(f"{address}?place=BENCH&code=M-0001")["Location"].endswith("?at=BENCH&seen=M-0001")
    # Whoever may not move things only reads the list.
    assert as_user(store.cast.production).get(f"{address}?code=M-0001").status_code == 200
