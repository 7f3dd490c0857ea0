"""A copy of the database while others write, and back again: SQLite by its online copy, PostgreSQL by its own programs.

Sessions are left out of a copy: who finds one must not find open doors. After a restore people sign in anew.
"""

import os
import re
import shutil
import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db import connection, transaction

from catalog.core import frozen, triggers
from catalog.core.errors import BackupError

SESSIONS = "django_session"
_TABLE = re.compile(r"[a-z][a-z0-9_]*")
# libpq's variables for what settings may hold: a password in a command line could be read by all on the machine.
_VARIABLES = {"HOST": "PGHOST", "PORT": "PGPORT", "USER": "PGUSER", "PASSWORD": "PGPASSWORD"}
_OPTIONS = {
    "application_name": "PGAPPNAME",
    "connect_timeout": "PGCONNECT_TIMEOUT",
    "sslcert": "PGSSLCERT",
    "sslkey": "PGSSLKEY",
    "sslmode": "PGSSLMODE",
    "sslrootcert": "PGSSLROOTCERT",
    "target_session_attrs": "PGTARGETSESSIONATTRS",
}


@dataclass(frozen=True, slots=True)
class Facts:
    """What a database holds: rows by table, migrations applied, the newest history line, the names of stored files."""

    counts: dict[str, int]
    migrations: list[str]
    last_line: dict[str, Any] | None
    files: list[str]


@contextmanager
def _told() -> Iterator[None]:
    """SQLite's own errors become a sentence: no tables yet, a full disk, a file that is no database."""
    try:
        yield
    except sqlite3.Error as wrong:
        raise BackupError(f"The database cannot be copied: {wrong}.") from wrong


@_told()
def copy_to(folder: Path) -> tuple[Path, Facts]:
    """Copy the database into the folder, as it stands at one moment, and say what the copy holds."""
    tables = [name for name in connection.introspection.django_table_names(only_existing=True) if name != SESSIONS]
    if connection.vendor == "postgresql":
        return _dump(folder / "database.pgdump", tables)
    copy = folder / "database.sqlite3"
    with closing(sqlite3.connect(copy, isolation_level=None)) as target:
        with closing(sqlite3.connect(connection.settings_dict["NAME"], timeout=20)) as site:
            site.backup(target)
        # Sessions, and what was deleted on its day, are overwritten, not only struck from the list.
        target.execute("PRAGMA journal_mode=DELETE")
        target.execute("PRAGMA secure_delete=ON")
        target.execute(f"DELETE FROM {SESSIONS}")  # noqa: S608 - our own word
        target.execute("VACUUM")
        return copy, facts(target.cursor(), tables)


def facts(cursor: Any, tables: list[str]) -> Facts:
    """Ask an open database what it holds in these tables."""
    _refuse_odd_names(tables)

    def rows(statement: str) -> list[Any]:
        cursor.execute(statement)
        return list(cursor.fetchall())

    counts = {name: int(rows(f'SELECT COUNT(*) FROM "{name}"')[0][0]) for name in sorted(tables)}  # noqa: S608 - checked
    applied = rows("SELECT app, name FROM django_migrations")
    last = rows("SELECT subject_kind, subject_id, seq, hash FROM catalog_historyline ORDER BY id DESC LIMIT 1")
    files = rows("SELECT original, large, small FROM catalog_file ORDER BY id")
    return Facts(
        counts=counts,
        migrations=sorted(f"{app}.{name}" for app, name in applied),
        last_line=dict(zip(("kind", "id", "seq", "hash"), last[0], strict=True)) if last else None,
        files=sorted({name for row in files for name in row if name}),
    )


@_told()
def bring_in(copy: Path, tables: list[str]) -> None:
    """Put the copy in the place of the site's database, in one transaction: all of it or nothing."""
    _refuse_odd_names(tables)
    if connection.vendor == "postgresql":
        _swap(copy, tables)
        return
    connection.close()
    with closing(sqlite3.connect(copy)) as source:
        try:
            sound = source.execute("PRAGMA quick_check").fetchone()[0]
        except sqlite3.DatabaseError as broken:
            sound = str(broken)
        if sound != "ok":
            raise BackupError(f"The database in the backup is damaged: {sound}.")
        with closing(sqlite3.connect(connection.settings_dict["NAME"], timeout=20)) as site:
            # Into the file, not over it: programs that have it open see the new content, none writes into a lost file.
            source.backup(site)


def _dump(copy: Path, tables: list[str]) -> tuple[Path, Facts]:
    """One snapshot for the dump and for what is said of it."""
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        cursor.execute("SELECT pg_export_snapshot()")
        snapshot = cursor.fetchone()[0]
        words = ["--format=custom", "--no-owner", "--no-privileges", f"--exclude-table-data={SESSIONS}"]
        _run("pg_dump", [*words, f"--snapshot={snapshot}", f"--file={copy}", f"--dbname={_address()}"])
        return copy, facts(cursor, tables)


def _swap(copy: Path, tables: list[str]) -> None:
    """Out with what stands, in with the dump, as one transaction.

    All our tables are dropped by name, for what a newer program added (a table, a column that points to an older table)
    would stand in the way of the dump's own cleaning.
    """
    here = connection.introspection.django_table_names(only_existing=True)
    gone = sorted({*here, *tables, SESSIONS, "django_migrations"})
    connection.close()
    drops, dump = copy.with_name("drops.sql"), copy.with_name("dump.sql")
    statements = [f"DROP TABLE IF EXISTS {connection.ops.quote_name(name)} CASCADE;" for name in gone]
    statements += [f"DROP FUNCTION IF EXISTS {name} CASCADE;" for name in (triggers.FUNCTION, *frozen.functions())]
    drops.write_text("\n".join(statements))
    _run("pg_restore", ["--no-owner", "--no-privileges", f"--file={dump}", str(copy)])
    words = ["--no-psqlrc", "--quiet", "--single-transaction", "--set=ON_ERROR_STOP=1"]
    _run("psql", [*words, f"--file={drops}", f"--file={dump}", f"--dbname={_address()}"])


def _refuse_odd_names(tables: list[str]) -> None:
    """Names come out of a manifest and go into statements."""
    if wrong := [name for name in tables if not _TABLE.fullmatch(name)]:
        raise BackupError(f"“{wrong[0][:40]}” is no name of a table.")


def _run(program: str, words: list[str]) -> None:
    found = shutil.which(program)
    if found is None:
        raise BackupError(
            f"{program} is missing: install the programs of PostgreSQL (on Debian the package postgresql-client)."
        )
    given = connection.settings_dict
    around = {variable: str(given[name]) for name, variable in _VARIABLES.items() if given[name]}
    around |= {_OPTIONS[name]: str(value) for name, value in given["OPTIONS"].items() if name in _OPTIONS}
    ran = subprocess.run(  # noqa: S603 - our own words
        [found, *words], env={**os.environ, "LC_ALL": "C", **around}, capture_output=True, text=True, check=False
    )
    if ran.returncode:
        said = ran.stderr.splitlines() or ["it said nothing"]
        first = next((line for line in said if "error:" in line.lower()), said[0])
        raise BackupError(f"{program} failed: {first.strip().rstrip('.')}.")


def _address() -> str:
    name = str(connection.settings_dict["NAME"]).replace("\\", "\\\\").replace("'", "\\'")
    return f"dbname='{name}'"
