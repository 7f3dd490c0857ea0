"""Many scan at once, and one is killed in the middle: nothing lost, nothing doubled, no "locked" reaches anybody.

Run on whichever database the suite runs on; each thread has a connection of its own, and the file is a real one.
"""

import os
import signal
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier
from typing import Any
from urllib.parse import quote
from uuid import UUID, uuid4

import pytest
from django.conf import settings
from django.db import connection, connections
from django.test import Client
from django.urls import reverse

from catalog.core.history import faults
from catalog.core.models import HistoryLine
from catalog.storage import actions
from catalog.storage.models import Move, Standing
from tests.storage.world import Store

CLIENTS, SCANS = 16, 6
ACKNOWLEDGED = 40

pytestmark = pytest.mark.django_db(transaction=True)


def all_at_once(run: Callable[[int], Any]) -> list[Any]:
    """Sixteen threads that start together; what each gave back."""
    start = Barrier(CLIENTS)

    def one(n: int) -> Any:
        try:
            start.wait(timeout=30)
            return run(n)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(CLIENTS) as pool:
        return list(pool.map(one, range(CLIENTS)))


def whole() -> None:
    """Each piece stands where its newest move and its newest line say, and every chain follows."""
    assert list(faults()) == []
    for standing in Standing.objects.select_related("piece", "place"):
        last = standing.piece.moves.order_by("id").last()
        line = HistoryLine.objects.filter(subject_kind="piece", subject_id=standing.piece.number).order_by("seq").last()
        assert last is not None
        assert line is not None
        assert (standing.place, line.client_id) == (last.to_place, last.client_id)


def test_sixteen_clients_lose_and_double_no_scan(store: Store) -> None:
    """Every scan is sent by two clients at about the same time, as a device does that never got its answer."""
    pieces = [store.piece(f"M-30{n:02d}", "MAIN-2-1") for n in range(4)]
    shelves = [store["MAIN-2-1"], store["MAIN-10-1"]]
    sent = [[uuid4() for _ in range(SCANS)] for _ in range(CLIENTS // 2)]

    def scan(n: int) -> list[UUID | None]:
        mine = sent[n % len(sent)]
        return [
            actions.move_piece(
                by=store.cast.archivist, piece=pieces[(n + turn) % 4], to=shelves[turn % 2], client_id=scan_id
            ).client_id
            for turn, scan_id in enumerate(mine)
        ]

    assert all_at_once(scan) == [sent[n % len(sent)] for n in range(CLIENTS)]
    wanted = Counter(scan_id for mine in sent for scan_id in mine)
    assert Counter(Move.objects.exclude(client_id=None).values_list("client_id", flat=True)) == wanted
    assert Counter(HistoryLine.objects.exclude(client_id=None).values_list("client_id", flat=True)) == wanted
    whole()


def test_sixteen_clients_at_the_pages_all_get_their_answer(store: Store, as_user: Callable[[Any], Client]) -> None:
    pieces = [store.piece(f"M-40{n:02d}", "MAIN-2-1") for n in range(4)]
    clients = [as_user(store.cast.archivist) for _ in range(CLIENTS)]

    def post(n: int) -> list[int]:
        address = reverse("storage:move_piece", args=[pieces[n % 4].number])
        return [
            clients[n].post(address, {"to": ("MAIN-10-1", "MAIN-2-1")[turn % 2], "reason": f"{n}.{turn}"}).status_code
            for turn in range(3)
        ]

    assert all_at_once(post) == [[302, 302, 302]] * CLIENTS
    reasons = Counter(Move.objects.exclude(reason="").values_list("reason", flat=True))
    assert reasons == Counter(f"{n}.{turn}" for n in range(CLIENTS) for turn in range(3))
    whole()


def test_what_was_acknowledged_before_a_kill_is_there(store: Store, tmp_path: Path) -> None:
    for n in range(3):
        store.piece(f"M-50{n:02d}", "MAIN-2-1")
    scanner = subprocess.Popen(
        [sys.executable, "-m", "tests.storage.scanner"],
        cwd=settings.BASE_DIR,
        env={**os.environ, "DATABASE_URL": address(), "WRAPKEEP_DATA": str(tmp_path)},
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert scanner.stdout is not None
        assert scanner.stdout.readline() == "ready\n"
        told = [scanner.stdout.readline() for _ in range(ACKNOWLEDGED)]
        os.kill(scanner.pid, signal.SIGKILL)
        told += scanner.stdout.readlines()
    finally:
        scanner.kill()
    assert scanner.wait(timeout=20) == -signal.SIGKILL
    acknowledged = {UUID(line.strip()) for line in told if line.endswith("\n")}
    assert len(acknowledged) >= ACKNOWLEDGED
    connection.close()  # a later reader, as after a restart
    kept = set(Move.objects.exclude(client_id=None).values_list("client_id", flat=True))
    assert acknowledged <= kept
    # At most what each thread had in hand was kept without a word.
    assert len(kept - acknowledged) <= 4
    whole()


def address() -> str:
    """The test's own database as DATABASE_URL."""
    given = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{given['NAME']}"
    login = f"{given['USER']}:{quote(given['PASSWORD'], safe='')}"
    return f"postgresql://{login}@{given['HOST']}:{given['PORT'] or 5432}/{given['NAME']}"
