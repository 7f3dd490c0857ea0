"""`python -m catalog.desk.bench.scan_run alone|crowd NUMBER ROUNDS`: scan into a scratch database, print times.

It writes, so it runs in a process of its own whose WRAPKEEP_DATA is a folder that is thrown away afterwards.
"""

import json
import multiprocessing
import os
import sqlite3
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from time import perf_counter, time
from typing import Any
from uuid import UUID, uuid5

import django

PIECES, WRITERS = 40, 16
NAMES = UUID("5d5f3d7e-2f0f-4d6e-8d0a-0c8a4f3b9c11")
_TUNED = ("PRAGMA journal_mode=WAL", "PRAGMA synchronous=FULL", "PRAGMA temp_store=MEMORY")
# What one scan asked of the database, in order, with what it gave.
Statements = list[tuple[str, Any]]


def prepare() -> None:
    """A store of two shelves with pieces on one, made by the actions; leaves `start.sqlite3` beside the database."""
    from django.contrib.auth.models import Group  # noqa: PLC0415 - Django must stand first, here and below
    from django.core.management import call_command  # noqa: PLC0415

    from catalog.access.duties import Duty  # noqa: PLC0415
    from catalog.access.models import User  # noqa: PLC0415
    from catalog.pieces.actions import add_production, record_piece  # noqa: PLC0415
    from catalog.storage.actions import add_place, receive_piece  # noqa: PLC0415

    call_command("migrate", verbosity=0)
    by = User.objects.create_user("bench")
    by.groups.add(Group.objects.get(name=Duty.ARCHIVIST.value))
    production = add_production(by=by, code="BENCH", title="Bench")
    room = add_place(by=by, code="ROOM", name="room", kind="room")
    shelves = [add_place(by=by, code=f"SHELF-{n}", name=f"shelf {n}", kind="shelf", parent=room) for n in (0, 1)]
    for number in range(PIECES):
        piece = record_piece(by=by, number=f"BENCH-{number:04d}", name="coat", kind="coat", production=production)
        receive_piece(by=by, piece=piece, place=shelves[0])
    _close()
    with closing(sqlite3.connect(_file())) as made:
        made.execute("PRAGMA journal_mode=DELETE")
    _start().write_bytes(_file().read_bytes())


def scanner() -> Callable[[int], None]:
    """`scan(n)`: the n-th scan of a run, the real action; the same in every run."""
    from catalog.access.models import User  # noqa: PLC0415
    from catalog.pieces.models import Piece  # noqa: PLC0415
    from catalog.storage.actions import move_piece  # noqa: PLC0415
    from catalog.storage.models import Place  # noqa: PLC0415

    by = User.objects.get(username="bench")
    pieces = list(Piece.objects.order_by("number"))
    shelves = list(Place.objects.filter(kind="shelf").order_by("code"))

    def scan(number: int) -> None:
        to = shelves[(1 + number // PIECES) % 2]
        move_piece(by=by, piece=pieces[number % PIECES], to=to, client_id=uuid5(NAMES, str(number)))

    return scan


def alone(scans: int, rounds: int) -> dict[str, Any]:
    """One writer: the action against bare transactions of the same statements, in turn; seconds of each run."""
    _reset()
    told = _recorded(scans)
    wanted = _state()
    runs = {"ours": lambda: _ours(scans), "bare": lambda: _bare(told), "cursor": lambda: _through_cursor(told)}
    seconds: dict[str, list[float]] = {word: [] for word in runs}
    for number in range(rounds + 1):
        for word in runs if number % 2 else reversed(runs):
            _reset()
            took = runs[word]()
            if _state() != wanted:
                return {"differ": word}
            if number:  # the first round warms up
                seconds[word].append(took)
    return {**seconds, "statements": len(told[0])}


def crowd(tenths: int, rounds: int) -> dict[str, Any]:
    """Sixteen writers for some tenths of a second: our settings and Django's own in turn. Kept scans and errors."""
    found: dict[str, list[tuple[int, int]]] = {"ours": [], "plain": []}
    for number in range(rounds):
        for word in ("ours", "plain") if number % 2 else ("plain", "ours"):
            _reset()
            before = _count("catalog_move")
            kept, errors = _race(tenths / 10, plain=word == "plain")
            # A commit whose answer was lost is no lost scan: then there may be more moves than answers, never fewer.
            if _count("catalog_move") - before < kept or _broken():
                return {"differ": word}
            found[word].append((kept, errors))
    return dict(found)


def _ours(scans: int) -> float:
    scan = scanner()
    start = perf_counter()
    for number in range(scans):
        scan(number)
    return perf_counter() - start


def _recorded(scans: int) -> list[Statements]:
    """Run the scans once and write down every statement but the savepoints: a bare transaction needs none."""
    from django.db import connection  # noqa: PLC0415

    scan = scanner()
    told: list[Statements] = []

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if not sql.startswith(("BEGIN", "SAVEPOINT", "RELEASE")):
            told[-1].append((sql, tuple(params or ())))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        for number in range(scans):
            told.append([])
            scan(number)
    return told


def _through_cursor(told: list[Statements]) -> float:
    """The statements through Django's own cursor: what is left when there are no tables' classes and no checks."""
    from django.db import connection, transaction  # noqa: PLC0415

    connection.ensure_connection()
    start = perf_counter()
    for statements in told:
        with transaction.atomic(), connection.cursor() as cursor:
            for sql, params in statements:
                cursor.execute(sql, params)
                cursor.fetchall()
    return perf_counter() - start


def _bare(told: list[Statements]) -> float:
    """The statements through the bare driver."""
    plain = [[(sql.replace("%s", "?"), params) for sql, params in statements] for statements in told]
    with closing(sqlite3.connect(_file(), isolation_level=None)) as bare:
        for pragma in _TUNED:
            bare.execute(pragma)
        start = perf_counter()
        for statements in plain:
            bare.execute("BEGIN IMMEDIATE")
            for sql, params in statements:
                bare.execute(sql, params).fetchall()
            bare.execute("COMMIT")
        return perf_counter() - start


def _race(seconds: float, *, plain: bool) -> tuple[int, int]:
    context = multiprocessing.get_context("fork")
    ready, answers = context.Barrier(WRITERS), context.Queue()
    _close()
    writers = [context.Process(target=_writer, args=(n, seconds, plain, ready, answers)) for n in range(WRITERS)]
    for writer in writers:
        writer.start()
    told = [answers.get(timeout=120) for _ in writers]
    for writer in writers:
        writer.join()
    return sum(kept for kept, _ in told), sum(errors for _, errors in told)


def _writer(which: int, seconds: float, plain: bool, ready: Any, answers: Any) -> None:
    from django.db import OperationalError, connection  # noqa: PLC0415

    if plain:  # what a project has that sets nothing but the engine and the file
        connection.settings_dict["OPTIONS"] = {}
    scan = scanner()
    ready.wait()
    kept, errors, number, end = 0, 0, which, time() + seconds
    while time() < end:
        try:
            scan(number)
            kept += 1
        except OperationalError:
            errors += 1
        number += WRITERS
    answers.put((kept, errors))


def _state() -> list[Any]:
    """What stands in the end, without the times: both programs must leave the same."""
    with closing(sqlite3.connect(_file())) as file:
        rows = file.execute(
            "SELECT s.piece_id, s.place_id, (SELECT COUNT(*) FROM catalog_move m WHERE m.piece_id = s.piece_id), "
            "(SELECT COUNT(*) FROM catalog_historyline h JOIN catalog_piece p ON h.subject_id = p.number "
            "WHERE p.id = s.piece_id) FROM catalog_standing s ORDER BY s.piece_id"
        ).fetchall()
    return [*rows, _broken()]


def _broken() -> bool:
    from catalog.core.history import faults  # noqa: PLC0415

    try:
        return any(True for _ in faults())
    finally:
        _close()


def _count(table: str) -> int:
    with closing(sqlite3.connect(_file())) as file:
        return int(file.execute(f"SELECT COUNT(*) FROM {table}").fetchone()[0])  # noqa: S608 - our own word


def _reset() -> None:
    _close()
    for ending in ("-wal", "-shm", "-journal"):
        Path(f"{_file()}{ending}").unlink(missing_ok=True)
    _file().write_bytes(_start().read_bytes())


def _file() -> Path:
    return Path(os.environ["WRAPKEEP_DATA"]) / "db.sqlite3"


def _start() -> Path:
    return _file().with_name("start.sqlite3")


def _close() -> None:
    from django.db import connections  # noqa: PLC0415

    connections.close_all()


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "archive_site.settings")
    django.setup()
    prepare()
    measure = {"alone": alone, "crowd": crowd}[sys.argv[1]]
    print(json.dumps(measure(int(sys.argv[2]), int(sys.argv[3]))))  # noqa: T201
