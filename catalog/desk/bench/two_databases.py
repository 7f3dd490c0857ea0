"""A measurement in a process and a database of its own, on SQLite and, where there is a server, on PostgreSQL too."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from tempfile import TemporaryDirectory
from typing import Any
from urllib.parse import urlsplit, urlunsplit

from django.conf import settings

from catalog.desk.bench.measuring import BenchError

SERVER = "postgresql://postgres@127.0.0.1:5432/postgres"
SQLITE, POSTGRES = "SQLite", "PostgreSQL"


def on_both(module: str, words: Sequence[str]) -> tuple[dict[str, Any], str]:
    """What the module answered by database, and why PostgreSQL was not tried ("" when it was)."""
    with TemporaryDirectory(prefix="wrapkeep-bench-") as folder:
        found = {SQLITE: _told(module, words, {"WRAPKEEP_DATA": folder})}
        with _scratch_postgres() as (url, why_not):
            if url:
                found[POSTGRES] = _told(module, words, {"WRAPKEEP_DATA": folder, "DATABASE_URL": url})
    return found, why_not


def _told(module: str, words: Sequence[str], more: dict[str, str]) -> Any:
    around = {key: value for key, value in os.environ.items() if key not in ("DATABASE_URL", "WRAPKEEP_HOSTS")}
    ran = subprocess.run(  # noqa: S603 - our own words
        [sys.executable, "-m", module, *words],
        cwd=settings.BASE_DIR,
        env=around | more,
        capture_output=True,
        text=True,
        check=False,
    )
    if ran.returncode:
        last = (ran.stderr.strip() or "it said nothing").splitlines()[-1]
        raise BenchError(f"The measuring process failed: {last}")
    return json.loads(ran.stdout.splitlines()[-1])


@contextmanager
def _scratch_postgres() -> Iterator[tuple[str, str]]:
    """A database of its own on the server of WRAPKEEP_TEST_POSTGRES, dropped afterwards; or why there is none."""
    server = os.environ.get("WRAPKEEP_TEST_POSTGRES", SERVER)
    try:
        import psycopg  # noqa: PLC0415 - an extra that need not be installed

        admin = psycopg.connect(server, autocommit=True, connect_timeout=3)
    except ImportError:
        yield "", "psycopg is not installed"
        return
    except psycopg.OperationalError:
        yield "", "no server at WRAPKEEP_TEST_POSTGRES"
        return
    name = f"wrapkeep_bench_{os.getpid()}"
    with admin:
        admin.execute(f'CREATE DATABASE "{name}"')
        try:
            yield urlunsplit(urlsplit(server)._replace(path=f"/{name}")), ""
        finally:
            admin.execute(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')
