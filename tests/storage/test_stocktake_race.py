"""Two people count at once, one phone sends everything twice, and the archivist closes in the middle."""

import threading
from collections.abc import Callable
from uuid import UUID

import pytest
from django.db import connections

from catalog.core.errors import WrongState
from catalog.core.history import faults
from catalog.pieces.models import Piece
from catalog.storage import stocktake_actions as taking
from catalog.storage.models import Sighting, Stocktake
from catalog.storage.stocktake_actions import Spot
from tests.cast import make_cast
from tests.storage.world import Store, make_store

PIECES = 6


@pytest.fixture
def counted(transactional_db: None) -> tuple[Store, Stocktake, list[Piece]]:
    store = make_store(make_cast())
    pieces = [store.piece(f"S-{n:04d}", "MAIN-2-1") for n in range(PIECES)]
    take = taking.start_stocktake(by=store.cast.archivist, place=store["MAIN"], draw="everything")
    return store, take, pieces


def together(*runs: Callable[[], None]) -> list[BaseException]:
    errors: list[BaseException] = []
    start = threading.Barrier(len(runs))

    def go(run: Callable[[], None]) -> None:
        try:
            start.wait(timeout=30)
            run()
        except Exception as error:  # noqa: BLE001 - whatever it is, the test below names it
            errors.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=go, args=(run,)) for run in runs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=120)
    assert not any(thread.is_alive() for thread in threads)
    return errors


def test_two_counters_lose_and_double_nothing(counted: tuple[Store, Stocktake, list[Piece]]) -> None:
    store, take, pieces = counted
    spot = Spot(store["MAIN-2-1"])

    def count(who: str, first: int) -> Callable[[], None]:
        def go() -> None:
            for number, piece in enumerate(pieces):
                scan = UUID(int=first + number)
                taking.see(by=getattr(store.cast, who), stocktake=take, at=spot, client_id=scan, piece=piece)

        return go

    # The archivist's phone sends each scan twice at the same time; the costumer backs it with scans of his own.
    assert together(count("archivist", 100), count("archivist", 100), count("set_costumer", 500)) == []
    names = list(Sighting.objects.order_by("by_name").values_list("by_name", flat=True))
    assert names == ["archivist"] * PIECES + ["set_costumer"] * PIECES
    assert list(faults()) == []


def test_closing_in_the_middle_judges_all_that_was_acknowledged(counted: tuple[Store, Stocktake, list[Piece]]) -> None:
    store, take, pieces = counted
    spot, kept = Spot(store["MAIN-2-1"]), []
    taking.count_stop(by=store.cast.archivist, stocktake=take, place=spot.place)

    def count() -> None:
        for number, piece in enumerate(pieces):
            scan = UUID(int=900 + number)
            taking.see(by=store.cast.set_costumer, stocktake=take, at=spot, client_id=scan, piece=piece)
            kept.append(piece.pk)

    errors = together(count, lambda: taking.close_stocktake(by=store.cast.archivist, stocktake=take) and None)
    assert all(isinstance(error, WrongState) for error in errors), errors
    missing = set(take.lines.filter(kind="missing", piece__in=pieces).values_list("piece", flat=True))
    assert missing.isdisjoint(kept)
    assert len(missing) + len(kept) == PIECES
