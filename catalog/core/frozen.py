"""Triggers that refuse to change what was signed, on SQLite and on PostgreSQL.

A room says beside its tables which acts on which rows are refused (`freeze`). Like those of the history they are
installed after every migrate. Before one they are taken away: SQLite renames no table that a trigger elsewhere names.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper


@dataclass(frozen=True, slots=True)
class Rule:
    """An act (INSERT, UPDATE, DELETE) that a table refuses where `when`, said of OLD or NEW in plain SQL, is true."""

    table: str
    act: str
    when: str
    sentence: str

    @property
    def name(self) -> str:
        """Of the trigger, and on PostgreSQL of its function."""
        return f"{self.table}_frozen_{self.act.lower()}"


_RULES: dict[str, Rule] = {}


def freeze(
    table: str, sentence: str, *, when: str, acts: Iterable[str] = ("INSERT", "UPDATE", "DELETE"), into: bool = False
) -> None:
    """Refuse these acts on rows of which `when` is true; `{row}` in it stands for OLD, and for NEW on INSERT.

    `into`: an update that makes it true is refused as well, so that nothing is moved under what was signed.
    """
    old, new = when.format(row="OLD"), when.format(row="NEW")
    told = {"INSERT": new, "UPDATE": f"({old}) OR ({new})" if into else old, "DELETE": old}
    for act in acts:
        rule = Rule(table, act, told[act], sentence)
        _RULES[rule.name] = rule


def install(connection: BaseDatabaseWrapper) -> None:
    """Create the triggers whose tables stand."""
    tables = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for rule in _RULES.values():
            if rule.table in tables:
                for statement in _statements(rule, connection.vendor):
                    cursor.execute(statement)


def lift(connection: BaseDatabaseWrapper) -> None:
    """Take the triggers away: before a migration, and between tests."""
    tables = set(connection.introspection.table_names())
    on = " ON {table}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        for rule in _RULES.values():
            if rule.table in tables:
                cursor.execute(f"DROP TRIGGER IF EXISTS {rule.name}{on.format(table=rule.table)}")


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Names of triggers that should stand and do not."""
    catalogue = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE tgenabled <> 'D'",
    }
    with connection.cursor() as cursor:
        cursor.execute(catalogue[connection.vendor])
        found = {row[0] for row in cursor.fetchall()}
    return sorted(set(_RULES) - found)


def functions() -> list[str]:
    """What else stands on PostgreSQL beside the tables."""
    return [f"{name}()" for name in sorted(_RULES)]


def install_after_migrate(sender: Any, using: str, **rest: Any) -> None:
    """Receiver of post_migrate."""
    install(connections[using])


def lift_before_migrate(sender: Any, using: str, **rest: Any) -> None:
    """Receiver of pre_migrate."""
    lift(connections[using])


def _statements(rule: Rule, vendor: str) -> tuple[str, ...]:
    head = f"TRIGGER {{}} {rule.name} BEFORE {rule.act} ON {rule.table} FOR EACH ROW"
    if vendor == "sqlite":
        create = "CREATE " + head.format("IF NOT EXISTS")
        return (f"{create} WHEN {rule.when} BEGIN SELECT RAISE(ABORT, '{rule.sentence}'); END",)
    row = "OLD" if rule.act == "DELETE" else "NEW"
    function = (
        f"CREATE OR REPLACE FUNCTION {rule.name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"IF {rule.when} THEN RAISE EXCEPTION '{rule.sentence}'; END IF; RETURN {row}; END $$"
    )
    return function, f"CREATE OR REPLACE {head.format('')} EXECUTE FUNCTION {rule.name}()"
