"""`demo_world`: the demo's tables, loaded through the import once a session and put into each test's own database.

    from tests.demo_world import DemoWorld

    def test_it(demo_world: DemoWorld) -> None:
        demo_world.call.reference; demo_world.cast.archivist; demo_world.piece("...")

The clock stands at the day of the call while the test runs, so that no date has moved. No piece has a picture. Use
`demo_world.cast` for the people, not `cast`: their names would stand twice.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.apps import apps
from django.contrib.auth.models import Group
from django.core.management.color import no_style
from django.db import connection, models, transaction

from catalog.access.duties import Duty
from catalog.access.models import User
from catalog.exchange.demo_actions import load_demo, mark
from catalog.loans.models import Call, Hold
from catalog.pieces.models import Piece
from catalog.storage.models import Place
from tests.cast import Cast, make_cast

FOLDER = Path(__file__).parents[1] / "fixtures" / "demo"
TODAY = date(2026, 7, 27)
# Rows by table, in an order in which each can be stored.
Dump = list[tuple[type[models.Model], list[models.Model]]]


@dataclass(frozen=True, slots=True)
class DemoWorld:
    """The loaded demo and the people who may work in it."""

    cast: Cast
    call: Call
    today: date = TODAY

    def piece(self, number: str) -> Piece:
        return Piece.objects.get(number=number)

    def place(self, code: str) -> Place:
        return Place.objects.get(code=code)

    def hold(self, reference: str) -> Hold:
        return Hold.objects.get(reference=reference)


@pytest.fixture(scope="session")
def demo_dump(django_db_setup: None, django_db_blocker: Any) -> Dump:
    """Every row of the demo, read once: loading it through the rooms takes seconds, putting rows back does not."""
    with django_db_blocker.unblock(), time_machine.travel(datetime(2026, 7, 27, 9, tzinfo=UTC)), transaction.atomic():
        cast = make_cast()
        load_demo(folder=FOLDER, people={duty: cast.of(duty) for duty in Duty}, today=TODAY)
        tables = apps.get_app_config("catalog").get_models(include_auto_created=True)
        dump = [(table, list(table._base_manager.all())) for table in tables if table._meta.managed]
        transaction.set_rollback(True)
    return [(table, rows) for table, rows in dump if rows]


@pytest.fixture
def load_demo_world(demo_dump: Dump, db: None) -> Callable[[], DemoWorld]:
    """Puts the demo into the test's database when called; the clock is the test's own affair."""

    def load() -> DemoWorld:
        groups = {group.name: group for group in Group.objects.all()}
        with transaction.atomic(), connection.constraint_checks_disabled():
            for table, rows in demo_dump:
                if table._meta.auto_created is User:
                    continue
                for row in rows:
                    row._state.adding = True
                table._base_manager.bulk_create(rows)
        with connection.cursor() as cursor:
            for statement in connection.ops.sequence_reset_sql(no_style(), [table for table, _ in demo_dump]):
                cursor.execute(statement)
        cast = Cast(**{duty.name.lower(): User.objects.get(username=duty.name.lower()) for duty in Duty})
        for duty in Duty:
            cast.of(duty).groups.set([groups[duty.value]])
        loaded = mark()
        assert loaded is not None
        return DemoWorld(cast, Call.objects.get(reference=loaded.value["call"]))

    return load


@pytest.fixture
def demo_world(load_demo_world: Callable[[], DemoWorld]) -> Iterator[DemoWorld]:
    """The demo on the day of its call."""
    with time_machine.travel(datetime(2026, 7, 27, 9, tzinfo=UTC), tick=True):
        yield load_demo_world()
