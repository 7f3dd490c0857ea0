"""Found things on their way: from a count, from shelf to shelf, to the pair whose half they are."""

from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from catalog.access.duties import Duty
from catalog.core.errors import NotAllowed, WrongState
from catalog.core.history import faults, lines_of
from catalog.pieces.actions import add_part
from catalog.pieces.models import Part, Piece
from catalog.storage import actions
from catalog.storage import stocktake_actions as taking
from catalog.storage import stocktake_resolving as settling
from catalog.storage.found_queries import compared
from catalog.storage.missing_models import FoundThing
from catalog.storage.models import Sighting, StocktakeLine
from catalog.storage.scan_actions import Scan, put_scanned, undo_scanned
from catalog.storage.stocktake_actions import Spot
from tests.storage.world import Store

As = Callable[[Any], Client]


@pytest.fixture
def glove(store: Store) -> FoundThing:
    """A left glove on the bench; G-0001 is a pair of that kind whose left is missing."""
    store.piece("G-0001", "MAIN-2-1", kind="gloves", name="gauntlets", materials=["rubber"], size_mark="9")
    Part.objects.filter(piece__number="G-0001", side="left").update(name="left one", missing_since=date(2025, 3, 1))
    facts: dict[str, Any] = {"name": "left glove", "kind": "gloves", "materials": ["rubber"], "size_mark": "9"}
    return actions.take_in_found(by=store.cast.archivist, place=store["BENCH"], **facts)


def counted(store: Store, **what: Any) -> StocktakeLine:
    """The line of one thing that a count of MAIN saw on MAIN-10-1."""
    by = store.cast.archivist
    take = taking.start_stocktake(by=by, place=store["MAIN"], draw="everything")
    taking.see(by=by, stocktake=take, at=Spot(store["MAIN-10-1"]), client_id=uuid4(), **what)
    taking.count_stop(by=by, stocktake=take, place=store["MAIN-10-1"])
    taking.close_stocktake(by=by, stocktake=take)
    return take.lines.get(sighting__isnull=False)


def test_a_line_without_a_label_leads_to_a_found_thing(store: Store, as_user: As) -> None:
    line = counted(store, words="a brown glove")
    args = [line.stocktake.reference, line.pk]
    page = as_user(store.cast.archivist).get(reverse("stocktake:settle", args=args)).content.decode()
    assert "Nobody knows what it is" in page
    assert 'value="a brown glove"' in page
    address = reverse("stocktake:settle_as_found", args=args)
    assert as_user(None).post(address)["Location"].startswith(reverse("access:sign_in"))
    for duty in set(Duty) - {Duty.ARCHIVIST}:
        assert as_user(store.cast.of(duty)).post(address).status_code == 403, duty
    wrong = as_user(store.cast.archivist).post(address, {"name": "brown glove"})
    assert (wrong.status_code, FoundThing.objects.count()) == (422, 0)
    answer = as_user(store.cast.archivist).post(address, {"name": "brown glove", "kind": "gloves"})
    found = FoundThing.objects.get()
    assert answer["Location"] == reverse("storage:found_thing", args=[found.number])
    seen = Sighting.objects.get()
    assert (found.place.code, found.happened, found.by_name) == ("MAIN-10-1", seen.seen_at, seen.by_name)
    line.refresh_from_db()
    assert line.outcome == f"taken in as {found.number}, brown glove"
    with pytest.raises(WrongState, match="settled already"):
        settling.settle_as_found(by=store.cast.archivist, line=line, kind="gloves", name="glove")


def test_a_trunk_without_a_label_is_no_found_thing(store: Store, as_user: As) -> None:
    line = counted(store, words="a grey trunk", is_container=True)
    args = [line.stocktake.reference, line.pk]
    assert as_user(store.cast.archivist).post(reverse("stocktake:settle_as_found", args=args)).status_code == 404
    assert (
        "Nobody knows" not in as_user(store.cast.archivist).get(reverse("stocktake:settle", args=args)).content.decode()
    )


def test_a_found_thing_is_moved_and_its_number_stays_its_own(store: Store, glove: FoundThing, as_user: As) -> None:
    address = reverse("storage:move_found", args=[glove.number])
    assert as_user(store.cast.set_costumer).post(address, {"to": "MAIN-2-1"}).status_code == 302
    assert glove.number in as_user(store.cast.archivist).get("/storage/MAIN-2-1/").content.decode()
    wrong = as_user(store.cast.archivist).post(address, {"to": "MUSEUM"})
    assert (wrong.status_code, "away from the store" in wrong.content.decode()) == (422, True)
    with pytest.raises(NotAllowed):
        actions.move_found(by=store.cast.production, found=glove, to=store["BENCH"])
    # The same by scans: put here, and the scan page's put.
    answer = as_user(store.cast.archivist).post(reverse("storage:put_here", args=["CAGE"]), {"code": glove.number})
    assert answer["Location"].endswith(f"?put={glove.number}")
    scan = Scan(uuid4(), glove.number.lower(), "BENCH")
    for _ in range(2):
        assert put_scanned(by=store.cast.archivist, scan=scan).sentence.endswith("is now at BENCH.")
    back = undo_scanned(by=store.cast.archivist, undoes=scan.client_id, client_id=uuid4())
    assert back.sentence.endswith("Scan a found thing back itself.")
    told = [line.after["place"] for line in lines_of(glove.subject).filter(verb="moved")]
    assert told == ["BENCH", "CAGE", "MAIN-2-1"]
    actions.know_again(by=store.cast.archivist, found=glove, piece=store.piece("G-0009", kind="gloves"))
    with pytest.raises(WrongState, match="known already"):
        actions.move_found(by=store.cast.archivist, found=glove, to=store["CAGE"])
    again = actions.take_in_found(by=store.cast.archivist, name="hat", kind="hat", place=store["BENCH"])
    assert again.number != glove.number


def test_what_came_from_a_trunk_in_quarantine_stays_apart(store: Store) -> None:
    by = store.cast.archivist
    receipt = actions.receive_trunk(by=by, place=store["CAGE"])
    line = actions.list_unclear(by=by, receipt=receipt, name="a hat", kind="hat", production=None)
    assert line.found is not None
    with pytest.raises(WrongState, match="in quarantine"):
        actions.move_found(by=by, found=line.found, to=store["MAIN-2-1"])
    assert actions.move_found(by=by, found=line.found, to=store["BENCH"]).place == store["BENCH"]


def test_a_found_half_is_held_against_missing_halves(store: Store, glove: FoundThing, as_user: As) -> None:
    first, *_ = compared(glove, store.cast.archivist).candidates
    assert (first.piece.number, first.part and first.part.name) == ("G-0001", "left one")
    archivist = as_user(store.cast.archivist)
    page = archivist.get(reverse("storage:found_thing", args=[glove.number])).content.decode()
    assert "may be the missing left one of" in page
    assert "Yes, it is the left one of G-0001" in page
    assert first.part is not None
    address = reverse("storage:know_part_again", args=[glove.number, first.part.pk])
    assert as_user(None).post(address)["Location"].startswith(reverse("access:sign_in"))
    for duty in set(Duty) - {Duty.ARCHIVIST}:
        assert as_user(store.cast.of(duty)).post(address).status_code == 403, duty
    assert archivist.post(address)["Location"] == "/pieces/G-0001/"
    glove.refresh_from_db()
    assert (glove.state, glove.piece) == ("known", Piece.objects.get(number="G-0001"))
    assert not Part.objects.filter(missing_since__isnull=False).exists()
    line = lines_of(glove.piece.subject)[0]  # type: ignore[union-attr]
    assert (line.verb, line.after) == ("part known again", {"part": "left one", "found_as": glove.number})
    assert list(faults()) == []
    other = actions.take_in_found(by=store.cast.archivist, name="glove", kind="gloves", place=store["BENCH"])
    with pytest.raises(WrongState, match="is not missing"):
        actions.know_part_again(by=store.cast.archivist, found=other, part=first.part)


def test_a_badge_is_no_half(store: Store, glove: FoundThing) -> None:
    cap = store.piece("C-0001", "MAIN-2-1", kind="hat", name="cap")
    badge = add_part(by=store.cast.archivist, piece=cap, letter="b", name="badge")
    Part.objects.filter(pk=badge.pk).update(missing_since=date(2025, 3, 1))
    found = actions.take_in_found(by=store.cast.archivist, name="a badge", kind="other", place=store["BENCH"])
    names = [one.part.name for one in compared(found, store.cast.archivist).candidates if one.part]
    assert names == ["badge"]
