"""demo: one command from an empty folder to a site with an archive in it and a call waiting."""

import socket
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection
from tqdm import tqdm

from catalog.access.duties import Duty
from catalog.access.models import User
from catalog.core import clock
from catalog.core.errors import CatalogError
from catalog.core.models import HouseSetting
from catalog.exchange.demo_actions import Login, load_demo, make_logins, mark, refuse_foreign_data
from catalog.exchange.drawing_actions import draw_missing
from catalog.fitting.calc.plan_types import PlanError
from catalog.fitting.queries import dry_run
from catalog.loans.queries import call_by_reference
from catalog.management.commands.plan import lines_of

HOST = "127.0.0.1"


class Command(BaseCommand):
    help = "Fill an empty database with the demo archive, print a login a duty, answer its call and serve it."
    # The database may be empty: what depends on its tables is checked once they stand.
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="stop after loading and answering")
        parser.add_argument("--port", type=int, default=8000, help="port on this machine (8000)")
        parser.add_argument("--no-pictures", action="store_true", help="leave the drawings out")

    def handle(self, *args: Any, **options: Any) -> None:
        if settings.DEPLOYED:
            raise CommandError(
                "This is a public site (WRAPKEEP_HOSTS is set): the demo runs on one's own machine only."
            )
        if not options["no_serve"]:
            _check_port(options["port"])
        try:
            _refuse_other_tables()
            call_command("migrate", verbosity=0)
            refuse_foreign_data()
            logins = self._fill()
            if not options["no_pictures"]:
                draw_missing(by=_people(logins)[Duty.ARCHIVIST], each=lambda rows: _bar(rows, "drawings"))
        except CatalogError as wrong:
            raise CommandError(wrong.sentence) from wrong
        self._answer()
        self._tell(logins)
        if not options["no_serve"]:
            self.stdout.write(f"\nOpen http://{HOST}:{options['port']}/ in a browser. Ctrl-C stops the site.")
            call_command("runserver", f"{HOST}:{options['port']}", use_reloader=False)

    def _fill(self) -> list[Login]:
        """Load once; later runs only make new passwords."""
        first = mark() is None
        logins = make_logins()
        if first:
            folder = Path(settings.BASE_DIR) / "fixtures" / "demo"
            try:
                load_demo(folder=folder, people=_people(logins), today=clock.today(), each=_bar)
            except CatalogError:
                # An unfinished demo leaves nothing behind that the next try would take for somebody's work.
                User.objects.filter(username__in=[login.username for login in logins]).delete()
                raise
        else:
            self.stdout.write("The demo is loaded already; it stays as it is.")
        return logins

    def _answer(self) -> None:
        loaded = mark()
        call = call_by_reference(loaded.value["call"]) if loaded else None
        if call is None:
            return
        try:
            lines = lines_of(dry_run(call))
        except PlanError as stuck:
            lines = [str(stuck)]
        self.stdout.write("")
        for line in lines:
            self.stdout.write(line)

    def _tell(self, logins: Iterable[Login]) -> None:
        self.stdout.write("\nLogins, one a duty. The passwords are new with every run and kept nowhere else:")
        for login in logins:
            self.stdout.write(f"  {login.username:15} {login.password}")


def _people(logins: Iterable[Login]) -> dict[Duty, User]:
    return {login.duty: User.objects.get(username=login.username) for login in logins}


def _bar(rows: Iterable[Any], words: str) -> Iterable[Any]:
    """A line of progress on a terminal; nothing where the output goes to a file."""
    return tqdm(rows, desc=f"{words:24}", unit="row", disable=None, leave=False)


def _check_port(port: int) -> None:
    """Fail before the work, not after it."""
    if not 1 <= port <= 65535:
        raise CommandError(f"--port {port}: a port lies between 1 and 65535.")
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError as taken:
            raise CommandError(f"Port {port} cannot be used ({taken.strerror}). Choose another with --port.") from taken


def _refuse_other_tables() -> None:
    """Before anything is migrated: what is here must be empty or a demo's."""
    tables = connection.introspection.table_names()
    if HouseSetting._meta.db_table in tables:
        refuse_foreign_data()
    elif tables and "django_migrations" not in tables:
        raise CommandError(f"This database holds tables of something else ({', '.join(sorted(tables)[:3])}).")
