"""`demo_world`: the demo's tables, loaded through the import once a session and put into each test's own database.

    from tests.demo_world import DemoWorld

    def test_it(demo_world: DemoWorld) -> None:
        demo_world.call.reference; demo_world.cast.archivist; demo_world.piece("...")

The clock stands at the day of the call while the test runs, so that no date has moved. No piece has a picture. Use
`demo_world.cast` for the people, not `cast`: their names would stand twice.
"""

import fcntl
import hashlib
import pickle
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import django
import pytest
import time_machine
from django.apps import apps
from django.contrib.auth.models import Group
from django.core.management.color import no_style
from django.db import connection, transaction

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
Dump = list[tuple[str, list[dict[str, Any]]]]


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
def demo_dump(django_db_setup: None, django_db_blocker: Any, request: pytest.FixtureRequest) -> Dump:
    """Every row of the demo, read once: loading it through the rooms takes seconds, putting rows back does not.

    Kept in pytest's own cache under a hash of everything it was made by, so that workers and later runs share it; the
    demo command's own test always loads anew.
    """
    kept = Path(request.config.cache.mkdir("demo_world")) / f"{connection.vendor}-{_made_by()}.pickle"
    with kept.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if kept.exists():
            found: Dump = pickle.loads(kept.read_bytes())
            return found
        with django_db_blocker.unblock():
            dump = _load_once()
        part = kept.with_suffix(".part")
        part.write_bytes(pickle.dumps(dump))
        part.rename(kept)
        for old in kept.parent.glob(f"{connection.vendor}-*"):
            if old.stem != kept.stem:
                old.unlink(missing_ok=True)
    return dump


def _load_once() -> Dump:
    with time_machine.travel(datetime(2026, 7, 27, 9, tzinfo=UTC)), transaction.atomic():
        cast = make_cast()
        load_demo(folder=FOLDER, people={duty: cast.of(duty) for duty in Duty}, today=TODAY)
        dump = []
        for table in apps.get_app_config("catalog").get_models(include_auto_created=True):
            fields = [field.attname for field in table._meta.concrete_fields]
            # Who has which duty is set anew: groups may have other keys in another database.
            rows = [] if table._meta.auto_created is User else list(table._base_manager.values(*fields))
            dump.append((table._meta.label, rows))
        transaction.set_rollback(True)
    return [(label, rows) for label, rows in dump if rows]


def _made_by() -> str:
    """A hash of the tables and of all code that can change what is stored of them."""
    root = FOLDER.parents[1]
    code = [
        path for path in root.glob("catalog/**/*.py") if not path.name.endswith(("views.py", "urls.py", "forms.py"))
    ]
    files = [*code, *(path for path in root.glob("fixtures/**/*") if path.is_file()), Path(__file__)]
    digest = hashlib.sha256(f"{django.__version__} {sys.version}".encode())
    for path in sorted(files):
        digest.update(str(path.relative_to(root)).encode() + path.read_bytes())
    return digest.hexdigest()[:24]


@pytest.fixture
def load_demo_world(demo_dump: Dump, db: None) -> Callable[[], DemoWorld]:
    """Puts the demo into the test's database when called; the clock is the test's own affair."""

    def load() -> DemoWorld:
        groups = {group.name: group for group in Group.objects.all()}
        with transaction.atomic(), connection.constraint_checks_disabled():
            for label, rows in demo_dump:
                table = apps.get_model(label)
                table._base_manager.bulk_create([table(**row) for row in rows])
        with connection.cursor() as cursor:
            for statement in connection.ops.sequence_reset_sql(
                no_style(), [apps.get_model(label) for label, _ in demo_dump]
            ):
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
