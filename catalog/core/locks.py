"""One order of locks for everybody, so that two people never wait for each other in a ring.

A loan's or hold's row comes first, then the rows of all pieces that the transaction will change or tell of, by their
ids, then rows below them (lines, standings), and history lines last. Every action that tells of several pieces takes
them here before its first line.
"""

from django.db import connection, models


def lock_rows(rows: "models.QuerySet[models.Model]") -> None:
    """Hold these rows until the transaction ends, in the order of their ids.

    On SQLite nothing is needed: a writing transaction begins IMMEDIATE, so there is one writer anyway.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("Rows are held inside a transaction.")
    if connection.features.has_select_for_update:
        list(rows.order_by("pk").select_for_update(no_key=True, of=("self",)).values_list("pk", flat=True))


def alone(what: str) -> None:
    """Hold the named lock until the transaction ends: one writer at a time where a row lock cannot say it.

    On SQLite nothing is needed, as above.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("A lock is held inside a transaction.")
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(hashtextextended(%s, 1))", [what])
