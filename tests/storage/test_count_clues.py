"""What counts saw, or did not, steers the search: sightings nobody settled lead, shelves counted without it fall."""

from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

import pytest
import time_machine

from catalog.pieces.models import Piece
from catalog.storage import actions
from catalog.storage import stocktake_actions as taking
from catalog.storage import stocktake_resolving as settling
from catalog.storage.calc.clues import Clues, Lost, Sight, Spot
from catalog.storage.calc.where import rank
from catalog.storage.models import MissingFile, Sighting, Stocktake
from catalog.storage.search_queries import Look, search_for
from catalog.storage.stocktake_actions import Spot as Here
from tests.storage.world import Store

WHEN = datetime(2031, 5, 4, tzinfo=UTC)
SPOTS = {one: Spot(one, f"P{one}", "level") for one in (1, 2, 3)}


@pytest.mark.parametrize(
    ("sight", "words"),
    [
        (Sight(2, "itself", WHEN), "a count saw it there on 4 May 2031, and nobody has settled that yet"),
        (Sight(2, "label", WHEN, "T41"), "whose label reads T41, which leads nowhere"),
        (Sight(2, "content", WHEN, number=3), "a count saw 3 pieces of its list there on 4 May 2031"),
    ],
)
def test_what_a_count_saw_since_comes_first(sight: Sight, words: str) -> None:
    lost = Lost("T14", True, 1, 1, WHEN)
    seen = rank(Clues(lost, SPOTS, sights=(sight,)))
    assert seen.next is not None
    assert (seen.next.place, words in seen.next.reasons[0].words) == (2, True)
    assert rank(Clues(lost, SPOTS)).elsewhere > seen.elsewhere


@pytest.fixture
def take(store: Store) -> Stocktake:
    return taking.start_stocktake(by=store.cast.archivist, place=store["SITE"], draw="everything")


@pytest.fixture
def box(store: Store) -> MissingFile:
    with time_machine.travel("2020-05-01 09:00Z", tick=False):
        return actions.mark_missing(by=store.cast.archivist, container=store["BOX1"], note="audit")


def see(store: Store, take: Stocktake, place: str, **what: Any) -> Sighting:
    spot = Here(store[place], what.pop("inside", None))
    return taking.see(by=store.cast.archivist, stocktake=take, at=spot, client_id=uuid4(), **what)


def looks(file: MissingFile) -> dict[str, Look]:
    thing = file.piece or file.container
    assert thing is not None
    thing.refresh_from_db()
    return {look.place.code: look for look in search_for(thing, file).looks}


def why(file: MissingFile, code: str) -> set[str]:
    found = looks(file).get(code)
    return {one.source for one in found.ranked.reasons} if found else set()


def test_pieces_of_a_lost_trunk_that_a_count_saw_lead_to_it(store: Store, take: Stocktake, box: MissingFile) -> None:
    reads = see(store, take, "BENCH", reads="1XOB", is_container=True)
    one = see(store, take, "BENCH", piece=Piece.objects.get(number="M-0001"), inside=reads)
    assert next(iter(looks(box))) == "BENCH"
    assert "seen since" in why(box, "BENCH")
    taking.take_back(by=store.cast.archivist, sighting=one)
    assert "seen since" not in why(box, "BENCH"), "a scan that was taken back leads no search astray"


def test_a_seen_piece_leads_until_its_line_is_settled(store: Store, take: Stocktake) -> None:
    with time_machine.travel("2020-05-01 09:00Z", tick=False):
        piece = Piece.objects.get(number="M-0003")
        file = actions.mark_missing(by=store.cast.archivist, piece=piece, note="gone")
    see(store, take, "BENCH", piece=piece)
    assert "seen since" in why(file, "BENCH")
    taking.count_stop(by=store.cast.archivist, stocktake=take, place=store["BENCH"])
    taking.close_stocktake(by=store.cast.archivist, stocktake=take)
    settling.settle_otherwise(by=store.cast.archivist, line=take.lines.get(piece=piece), why="a copy, not it")
    assert "seen since" not in why(file, "BENCH")


def test_a_shelf_that_was_counted_without_it_falls(store: Store, take: Stocktake, box: MissingFile) -> None:
    before = looks(box)["MAIN-10-1"].ranked.chance
    taking.count_stop(by=store.cast.archivist, stocktake=take, place=store["MAIN-10-1"])
    after = looks(box)["MAIN-10-1"]
    assert after.ranked.chance < before
    assert after.counted == 1
