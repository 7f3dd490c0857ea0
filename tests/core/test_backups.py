"""`backup` and `restore`: taken while others write, brought back whole, and nothing forged or half is let in."""

import hashlib
import json
import os
import shutil
import threading
import zipfile
from datetime import timedelta
from io import StringIO
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from uuid import UUID, uuid4

import pytest
import time_machine
from django.contrib.sessions.models import Session
from django.core.files.base import ContentFile
from django.core.management import CommandError, call_command
from django.db import connection, connections

from catalog.core import clock, database_copies
from catalog.core.backups import MANIFEST, delete_older
from catalog.core.history import faults
from catalog.core.models import File, HistoryLine, media_storage
from catalog.fitting.models import SizeSheet, SizeValue
from catalog.loans.models import Wearer
from catalog.storage import actions
from catalog.storage.models import Move, Standing
from tests.cast import Cast
from tests.loans.world import make_call
from tests.storage.world import Store, make_store

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def store(cast: Cast, settings: Any, tmp_path: Path) -> Store:
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.DATA_DIR = tmp_path
    return make_store(cast)


def run(*words: str) -> str:
    out = StringIO()
    call_command(*words, stdout=out, stderr=out)
    return out.getvalue()


def backup(folder: Path) -> Path:
    run("backup", str(folder))
    return max(folder.glob("wrapkeep-*.zip"))


def picture(data: bytes) -> File:
    digest = hashlib.sha256(data).hexdigest()
    name = media_storage().save(f"originals/{digest[:2]}/{digest}.jpg", ContentFile(data))
    return File.objects.create(sha256=digest, media_type="image/jpeg", size_bytes=len(data), original=name)


def test_while_eight_write_nothing_acknowledged_is_left_out(store: Store, tmp_path: Path) -> None:
    pieces = [store.piece(f"M-10{n:02d}", "MAIN-2-1") for n in range(8)]
    stored = picture(b"not really a picture")
    kept: list[UUID] = []
    stop, warm = threading.Event(), threading.Barrier(9)

    def write(n: int) -> None:
        try:
            turn = 0
            while not stop.is_set():
                scan, turn = uuid4(), turn + 1
                to = store["MAIN-10-1" if turn % 2 else "MAIN-2-1"]
                actions.move_piece(by=store.cast.archivist, piece=pieces[n], to=to, client_id=scan)
                kept.append(scan)
                if turn == 2:
                    warm.wait(timeout=30)
        finally:
            connections.close_all()

    writers = [threading.Thread(target=write, args=(n,)) for n in range(8)]
    for writer in writers:
        writer.start()
    warm.wait(timeout=30)
    acknowledged = list(kept)
    path = backup(tmp_path / "backups")
    during = len(kept) - len(acknowledged)
    stop.set()
    for writer in writers:
        writer.join(timeout=30)
    assert len(acknowledged) >= 16
    assert during > 0, "nobody wrote while the backup was taken"

    media_storage().delete(stored.original.name)
    told = run("restore", str(path), "--replace")
    assert "history lines are whole" in told
    found = set(Move.objects.exclude(client_id=None).values_list("client_id", flat=True))
    assert set(acknowledged) <= found <= set(kept)
    assert list(faults()) == []
    # One moment: a standing, its last move and its line say the same for each piece.
    for piece in pieces:
        last = Move.objects.filter(piece=piece).order_by("id").last()
        line = HistoryLine.objects.filter(subject_kind="piece", subject_id=piece.number).order_by("seq").last()
        assert last is not None
        assert line is not None
        assert (Standing.objects.get(piece=piece).place, line.client_id) == (last.to_place, last.client_id)
    with media_storage().open(stored.original.name) as back:
        assert back.read() == b"not really a picture"


def test_sheets_past_their_day_and_sessions_do_not_come_back(store: Store, tmp_path: Path, as_user: Any) -> None:
    call = make_call(store.cast.production, SimpleNamespace(production=store.production))
    wearer = Wearer.objects.create(call=call, number="7", name="Perpetua Quillfeather")
    day = clock.today() + timedelta(days=30)
    sheet = SizeSheet.objects.create(wearer=wearer, delete_on=day, layer="card")
    SizeValue.objects.create(sheet=sheet, point="chest", value_mm=970)
    as_user(store.cast.archivist)
    assert Session.objects.exists()
    path = backup(tmp_path / "backups")
    with time_machine.travel(day + timedelta(days=1)):
        told = run("restore", str(path), "--replace")
    assert f"{call.reference}: 1 size sheets past their day deleted again" in told
    assert not SizeSheet.objects.exists()
    assert Wearer.objects.get(pk=wearer.pk).name == ""
    assert not Session.objects.exists()


def test_a_site_with_something_in_it_is_not_overwritten_unasked(store: Store, tmp_path: Path) -> None:
    path = backup(tmp_path / "backups")
    later = store.piece("M-2000", "MAIN-2-1")
    with pytest.raises(CommandError, match=r"^This site is not empty \(5 logins and \d+ history lines\).*--replace\.$"):
        run("restore", str(path))
    assert Standing.objects.filter(piece=later).exists()


FORGERIES = {
    "database": "was changed: database",
    "picture": "was changed: media/",
    "manifest": "its fingerprint is",
    "more": "not those of its manifest",
    "less": "not those of its manifest",
    "cut": "is no backup",
    "no zip": "is no backup",
    "outside": "would leave its folder",
}


def test_what_was_tampered_with_is_refused_and_touches_nothing(store: Store, tmp_path: Path) -> None:
    picture(b"a picture")
    made = backup(tmp_path / "backups")
    printed = hashlib.sha256(zipfile.ZipFile(made).read(MANIFEST)).hexdigest()
    lines = HistoryLine.objects.count()
    for what, words in FORGERIES.items():
        path = Path(shutil.copy(made, tmp_path / f"{what}.zip"))
        forge(path, what)
        with pytest.raises(CommandError, match=words):
            run("restore", str(path), "--replace", "--fingerprint", printed if what == "manifest" else "")
        assert HistoryLine.objects.count() == lines
    assert Standing.objects.count() == 3
    assert not (tmp_path.parent / "out.jpg").exists()
    assert "are whole" in run("restore", str(made), "--replace", "--fingerprint", printed)


def forge(path: Path, what: str) -> None:
    """Change a backup as its name says, and keep it a readable ZIP where that is the point."""
    if what == "no zip":
        path.write_text("a letter")
        return
    if what == "cut":
        path.write_bytes(path.read_bytes()[:-2000])
        return
    with zipfile.ZipFile(path) as archive:
        held = {name: archive.read(name) for name in archive.namelist()}
    said = json.loads(held[MANIFEST])
    database = next(name for name in held if name.startswith("database."))
    media = next(name for name in held if name.startswith("media/"))
    if what == "database":
        held[database] = held[database].replace(b"coat M-0001", b"coat M-0009") + b"x"
    elif what == "picture":
        held[media] = b"b picture"
    elif what == "more":
        held["media/extra.jpg"] = b"x"
    elif what == "less":
        del held[media]
    elif what == "outside":
        held["media/../../out.jpg"] = b"a picture"
        said["files"]["media/../../out.jpg"] = said["files"][media]
        held[MANIFEST] = json.dumps(said).encode()
    else:
        said["made"] = "2020-01-01T00:00:00+00:00"
        held[MANIFEST] = json.dumps(said).encode()
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in held.items():
            archive.writestr(name, data)


def test_a_backup_of_a_newer_program_or_of_another_database_is_refused(store: Store, tmp_path: Path) -> None:
    path = backup(tmp_path / "backups")
    with zipfile.ZipFile(path) as archive:
        held = {name: archive.read(name) for name in archive.namelist()}
    for change, words in (
        (lambda said: said["facts"]["migrations"].append("catalog.9999_from_tomorrow"), "newer program"),
        (lambda said: said.update(vendor="oracle"), "made from oracle"),
        (lambda said: said.update(format=9), "format 9"),
        (lambda said: said.pop("facts"), "cannot be read"),
        (lambda said: said["facts"]["counts"].update({'x"; DROP': 1}), "is no name of a table"),
    ):
        said = json.loads(held[MANIFEST])
        change(said)
        with zipfile.ZipFile(path, "w") as archive:
            for name, data in {**held, MANIFEST: json.dumps(said).encode()}.items():
                archive.writestr(name, data)
        with pytest.raises(CommandError, match=words):
            run("restore", str(path), "--replace")
    assert Standing.objects.count() == 3


def test_what_a_newer_program_added_does_not_stand_in_the_way(store: Store, tmp_path: Path) -> None:
    """An older backup has neither the column nor the table; both point to tables that are taken out for it."""
    path = backup(tmp_path / "backups")
    with connection.cursor() as cursor:
        cursor.execute("ALTER TABLE catalog_move ADD COLUMN tomorrow_id bigint REFERENCES catalog_place (id)")
        cursor.execute("CREATE TABLE catalog_tomorrow (move_id bigint REFERENCES catalog_move (id))")
    assert "are whole" in run("restore", str(path), "--replace")
    with connection.cursor() as cursor:
        columns = {column.name for column in connection.introspection.get_table_description(cursor, "catalog_move")}
        assert "to_place_id" in columns
        assert "tomorrow_id" not in columns
        cursor.execute("DROP TABLE IF EXISTS catalog_tomorrow")
    assert list(faults()) == []


def test_wrong_words_end_with_one_line(store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("x")
    for words, line in (
        (("backup", str(tmp_path / "file")), "File exists"),
        (("backup", str(tmp_path), "--keep", "0"), "at least 1 backup"),
        (("restore", str(tmp_path / "none.zip")), "No such file"),
        (("restore", str(tmp_path)), "Is a directory"),
    ):
        with pytest.raises(CommandError, match=line) as refused:
            run(*words)
        assert "\n" not in str(refused.value)
    if connection.vendor == "postgresql":
        monkeypatch.setattr(database_copies.shutil, "which", lambda program: None)
        with pytest.raises(CommandError, match=r"^pg_dump is missing: install"):
            run("backup", str(tmp_path / "backups"))
        assert list((tmp_path / "backups").iterdir()) == []


def test_only_the_newest_are_kept_and_nobody_else_may_read_them(store: Store, tmp_path: Path) -> None:
    folder = tmp_path / "backups"
    for second in range(3):
        with time_machine.travel(f"2031-01-0{second + 1} 02:00Z"):
            told = run("backup", str(folder), "--keep", "2")
    assert "Deleted the older wrapkeep-20310101T020000Z.zip." in told
    (folder / "notes.zip").write_text("mine")
    names = ["notes.zip", "wrapkeep-20310102T020000Z.zip", "wrapkeep-20310103T020000Z.zip"]
    assert sorted(path.name for path in folder.iterdir()) == names
    assert delete_older(folder, 2) == []
    assert {oct(path.stat().st_mode & 0o077) for path in folder.glob("wrapkeep-*")} == {"0o0"}
    assert os.stat(folder).st_mode & 0o077 == 0
    with time_machine.travel("2031-01-03 02:00Z"), pytest.raises(CommandError, match="is there already"):
        run("backup", str(folder))
