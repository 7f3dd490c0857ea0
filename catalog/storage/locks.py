"""One writer at a time where a row lock cannot say it: the shape of the tree, the next serial of a label."""

from django.db import connection


def alone(what: str) -> None:
    """Hold the named lock until the transaction ends.

    On SQLite nothing is needed: a writing transaction begins IMMEDIATE, so there is one writer anyway.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("A lock is held inside a transaction.")
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(hashtextextended(%s, 1))", [f"storage {what}"])
