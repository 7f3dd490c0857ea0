"""Triggers that refuse to change or delete a history line, on SQLite and on PostgreSQL.

They are installed after every migrate, because a later migration that rebuilds the table on SQLite drops them.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

from catalog.core import frozen

TABLE = "catalog_historyline"
FUNCTION = "historyline_refuse()"  # on PostgreSQL
NAMES = {
    "sqlite": ("historyline_no_update", "historyline_no_delete"),
    "postgresql": ("historyline_frozen", "historyline_no_truncate"),
}

_SENTENCE = "history lines are never changed or deleted"
_ON_SQLITE = "CREATE TRIGGER IF NOT EXISTS {name} BEFORE {act} ON {table} BEGIN SELECT RAISE(ABORT, '{sentence}'); END"
_ON_POSTGRESQL = "CREATE OR REPLACE TRIGGER {name} BEFORE {act} ON {table} {each} EXECUTE FUNCTION " + FUNCTION
_FUNCTION = (
    f"CREATE OR REPLACE FUNCTION {FUNCTION} RETURNS trigger LANGUAGE plpgsql AS "
    f"$$ BEGIN RAISE EXCEPTION '{_SENTENCE}'; END $$"
)
_CREATE = {
    "sqlite": (
        _ON_SQLITE.format(name="historyline_no_update", act="UPDATE", table=TABLE, sentence=_SENTENCE),
        _ON_SQLITE.format(name="historyline_no_delete", act="DELETE", table=TABLE, sentence=_SENTENCE),
    ),
    "postgresql": (
        _FUNCTION,
        _ON_POSTGRESQL.format(name="historyline_frozen", act="UPDATE OR DELETE", table=TABLE, each="FOR EACH ROW"),
        _ON_POSTGRESQL.format(name="historyline_no_truncate", act="TRUNCATE", table=TABLE, each="FOR EACH STATEMENT"),
    ),
}
_DROP = {
    "sqlite": ("DROP TRIGGER IF EXISTS {name}",),
    "postgresql": ("DROP TRIGGER IF EXISTS {name} ON " + TABLE,),
}


def install(connection: BaseDatabaseWrapper) -> None:
    """Create the triggers if the table stands and they are missing."""
    if TABLE not in connection.introspection.table_names():
        return
    with connection.cursor() as cursor:
        for statement in _CREATE[connection.vendor]:
            cursor.execute(statement)


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Names of triggers that should stand and do not."""
    catalogue = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE tgrelid = %s::regclass AND tgenabled <> 'D'",
    }
    with connection.cursor() as cursor:
        cursor.execute(catalogue[connection.vendor], [TABLE])
        found = {row[0] for row in cursor.fetchall()}
    return [name for name in NAMES[connection.vendor] if name not in found]


@contextmanager
def lifted(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """For one test fixture only: take the triggers away and put them back."""
    with connection.cursor() as cursor:
        for name in NAMES[connection.vendor]:
            for statement in _DROP[connection.vendor]:
                cursor.execute(statement.format(name=name))
    frozen.lift(connection)
    try:
        yield
    finally:
        install(connection)
        frozen.install(connection)


def install_after_migrate(sender: Any, using: str, **rest: Any) -> None:
    """Receiver of post_migrate."""
    install(connections[using])
