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
