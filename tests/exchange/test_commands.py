"""The commands, as a person types them: one clear line and a wrong exit for what cannot be done."""

import io
import json
import re
import socket
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth import authenticate
from django.core.management import CommandError, call_command
from django.db import connection

from catalog.access.models import User
from catalog.core.models import HistoryLine
from catalog.core.triggers import lifted
from catalog.exchange.demo_actions import mark
from catalog.pieces.models import Piece, Production
from tests.cast import Cast
from tests.demo_world import DemoWorld


def run(*words: str, **options: Any) -> tuple[str, str]:
    out, err = io.StringIO(), io.StringIO()
    call_command(*words, stdout=out, stderr=err, **options)
    return out.getvalue(), err.getvalue()


@pytest.fixture
def productions(tmp_path: Path) -> str:
    path = tmp_path / "productions.csv"
    path.write_text("Kürzel,title\nZ,Zephyr\n", encoding="utf-8-sig")
    return str(path)


@pytest.fixture
def mapping(tmp_path: Path) -> str:
    path = tmp_path / "mapping.json"
    path.write_text(json.dumps({"columns": {"code": "Kürzel"}}), encoding="utf-8")
    return str(path)


def test_a_table_is_loaded_with_its_mapping(db: None, productions: str, mapping: str) -> None:
    out, _ = run("import_table", "productions", productions, mapping=mapping)
    assert out == "1 production stored.\n"
    assert HistoryLine.objects.get().by_name == "command-line"
    assert authenticate(username="command-line", password="") is None


def test_a_dry_run_shows_the_rows(db: None, productions: str, mapping: str) -> None:
    out, _ = run("import_table", "productions", productions, mapping=mapping, dry_run=True)
    assert out == "1. code Z; title Zephyr\n1 production would be stored; nothing was.\n"
    assert not Production.objects.exists()


def test_a_dry_run_of_a_roster_shows_no_names_and_no_sizes(demo_world: DemoWorld, tmp_path: Path) -> None:
    path = tmp_path / "more.csv"
    path.write_text("number,name,card_height,consent,delete_on\nX1,Ann Other,171,yes,2026-12-28\n", encoding="utf-8")
    out, _ = run("import_table", "roster", str(path), call=demo_world.call.reference, dry_run=True)
    assert "X1" in out
    assert "Ann" not in out
    assert "171" not in out


def test_faults_are_told_line_by_line(db: None, tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_text("code,title,year\nZ,,soon\nY,Yard,1500\n", encoding="utf-8")
    err = io.StringIO()
    with pytest.raises(CommandError, match=r"t\.csv was not loaded: 2 faults. Nothing was stored."):
        call_command("import_table", "productions", str(path), stderr=err)
    assert err.getvalue().splitlines() == [
        "Row 2, year: “soon” is not a number.",
        "Row 3, year: 1500 cannot be right; it lies between 1880 and 2200.",
    ]


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (("spoons", "nothing.csv"), "cannot be read: No such file"),
        (("pieces", "/"), "cannot be read: Is a directory"),
        (("spoons",), "Name a file"),
    ],
)
def test_wrong_words_get_one_line(db: None, words: tuple[str, ...], part: str) -> None:
    with pytest.raises(CommandError, match=part):
        run("import_table", *words)


def test_an_unknown_kind_and_a_broken_mapping(db: None, productions: str, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="is no kind of table"):
        run("import_table", "spoons", productions)
    broken = tmp_path / "broken.json"
    broken.write_text("{", encoding="utf-8")
    with pytest.raises(CommandError, match="is no JSON"):
        run("import_table", "productions", productions, mapping=str(broken))


def test_without_a_file_it_tells_the_columns(db: None) -> None:
    out, _ = run("import_table", "pieces")
    assert re.search(r"^number .*needed", out, re.MULTILINE)
    assert "match:GROUP" in out


def test_the_history_is_whole_or_its_first_broken_line_is_named(db: None, productions: str, mapping: str) -> None:
    run("import_table", "productions", productions, mapping=mapping)
    assert run("verify_history")[0] == "1 line in 1 chain are whole.\n".replace("are", "is")
    with lifted(connection):
        HistoryLine.objects.update(reason="forged")
    err = io.StringIO()
    with pytest.raises(CommandError, match=r"The history is not whole: 1 fault\."):
        call_command("verify_history", stderr=err)
    assert "production Z: line 1 does not follow" in err.getvalue()


def test_the_demo_runs_twice(db: None) -> None:
    """The first run loads, answers and prints the logins; the second only makes new passwords."""
    first, _ = run("demo", no_serve=True, no_pictures=True)
    assert "13 of 20 can be dressed" in first
    found = dict(re.findall(r"^  ([a-z-]+) +(\S{12})$", first, re.MULTILINE))
    assert sorted(found) == ["archivist", "production", "set-costumer", "visitor", "wardrobe-lead"]
    for name, password in found.items():
        assert User.objects.get(username=name).check_password(password)
        assert User.objects.get(username=name).groups.count() == 1
    lines, loaded = HistoryLine.objects.count(), mark()
    second, _ = run("demo", no_serve=True, no_pictures=True)
    assert "loaded already" in second
    assert (HistoryLine.objects.count(), Piece.objects.count(), mark()) == (lines, 263, loaded)
    assert not User.objects.get(username="archivist").check_password(found["archivist"])
    assert User.objects.exclude(username="command-line").count() == 5
    assert run("verify_history")[0].endswith("are whole.\n")


def test_the_demo_leaves_other_archives_alone(cast: Cast, productions: str, mapping: str) -> None:
    with pytest.raises(CommandError, match="5 logins that are not a demo's"):
        run("demo", no_serve=True)
    run("import_table", "productions", productions, mapping=mapping)
    with pytest.raises(CommandError, match="1 productions that"):
        run("demo", no_serve=True)
    assert User.objects.filter(username="archivist").get().check_password("lantern-oil-and-rope")


def test_the_demo_is_for_ones_own_machine(db: None, settings: Any) -> None:
    settings.DEPLOYED = True
    with pytest.raises(CommandError, match="own machine only"):
        run("demo", no_serve=True)


def test_a_port_that_cannot_be_used_is_told_before_anything_is_loaded(db: None) -> None:
    with socket.socket() as busy:
        busy.bind(("127.0.0.1", 0))
        busy.listen()
        with pytest.raises(CommandError, match="Choose another with --port"):
            run("demo", port=busy.getsockname()[1])
    with pytest.raises(CommandError, match="between 1 and 65535"):
        run("demo", port=0)
    assert mark() is None
