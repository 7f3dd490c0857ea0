"""History lines: a chain a subject, only whitelisted fields, frozen by the database itself."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from catalog.core import history, triggers
from catalog.core.models import HistoryLine
from tests.cast import Cast

history.allow("test thing", ["place", "count"])
THING = history.Subject("test thing", "X-1")


def write(cast: Cast, **facts: object) -> HistoryLine:
    with transaction.atomic():
        return history.record(cast.archivist, "moved", THING, **facts)  # type: ignore[arg-type]


def test_lines_of_a_subject_chain_from_one(cast: Cast) -> None:
    first = write(cast, after={"place": "shelf"})
    second = write(cast, before={"place": "shelf"}, after={"place": "bench"}, reason="survey")
    assert (first.seq, second.seq) == (1, 2)
    assert first.previous_hash == history.GENESIS
    assert second.previous_hash == first.hash
    assert history.head_hash(THING) == second.hash
    assert list(history.faults()) == []


def test_chains_of_two_subjects_do_not_touch(cast: Cast) -> None:
    write(cast, after={"place": "shelf"})
    with transaction.atomic():
        other = history.record(cast.archivist, "moved", history.Subject("test thing", "X-2"), after={"count": 2})
    assert (other.seq, other.previous_hash) == (1, history.GENESIS)


def test_a_field_nobody_allowed_is_refused(cast: Cast) -> None:
    with pytest.raises(ValueError, match="chest"):
        write(cast, after={"chest": 97})
    assert HistoryLine.objects.count() == 0


def test_a_kind_nobody_declared_is_refused(cast: Cast) -> None:
    with transaction.atomic(), pytest.raises(ValueError, match="whitelisted"):
        history.record(cast.archivist, "moved", history.Subject("stranger", "1"), after={})


@pytest.mark.django_db(transaction=True)
def test_a_line_outside_a_transaction_is_refused() -> None:
    with pytest.raises(RuntimeError, match="same transaction"):
        history.record(None, "moved", THING, after={"place": "shelf"})


def test_it_keeps_when_it_happened_beside_when_it_was_recorded(cast: Cast) -> None:
    long_ago = datetime(2003, 10, 22, 12, tzinfo=UTC)
    line = write(cast, after={"place": "dock"}, happened=long_ago)
    line.refresh_from_db()
    assert line.happened == long_ago
    assert line.recorded - long_ago > timedelta(days=365 * 20)
    assert list(history.faults()) == []


@pytest.mark.parametrize("act", ["update", "delete"])
def test_the_database_refuses_to_change_a_line(cast: Cast, act: str) -> None:
    write(cast, after={"place": "shelf"})
    lines = HistoryLine.objects.all()
    spoil = {"update": lambda: lines.update(verb="found"), "delete": lambda: lines._raw_delete(using="default")}[act]
    with pytest.raises(DatabaseError, match="never changed or deleted"), transaction.atomic():
        spoil()
    assert HistoryLine.objects.get().verb == "moved"


@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
def test_postgresql_refuses_to_empty_the_table() -> None:
    with pytest.raises(DatabaseError, match="never changed or deleted"), connection.cursor() as cursor:
        cursor.execute(f"TRUNCATE {triggers.TABLE}")


@pytest.mark.parametrize(
    "spoil",
    [
        lambda: HistoryLine.objects.filter(seq=2).update(after={"place": "attic"}),
        lambda: HistoryLine.objects.filter(seq=2)._raw_delete(using="default"),
        lambda: HistoryLine.objects.filter(seq=1).update(reason="added later"),
    ],
    ids=["changed", "deleted", "first changed"],
)
def test_verify_names_the_first_broken_line(cast: Cast, spoil: Callable[[], object]) -> None:
    for place in ("shelf", "bench", "rail"):
        write(cast, after={"place": place})
    with triggers.lifted(connection):
        spoil()
    (fault,) = history.faults()
    assert "X-1" in fault
    assert "line" in fault


def test_verify_tells_a_missing_trigger(cast: Cast) -> None:
    name = triggers.NAMES[connection.vendor][0]
    on = f" ON {triggers.TABLE}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER {name}{on}")
    try:
        assert any(name in fault for fault in history.faults())
    finally:
        triggers.install(connection)
    assert list(history.faults()) == []


@pytest.mark.django_db
def test_migrate_puts_a_dropped_trigger_back() -> None:
    name = triggers.NAMES[connection.vendor][0]
    on = f" ON {triggers.TABLE}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER {name}{on}")
    call_command("migrate", verbosity=0)
    assert triggers.missing(connection) == []


def test_changed_keeps_only_what_differs() -> None:
    assert history.changed({"a": 1, "b": 2}, {"a": 1, "b": 3}) == ({"b": 2}, {"b": 3})
