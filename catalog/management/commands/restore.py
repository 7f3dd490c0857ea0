"""`restore FILE`: bring a backup back, prove its history, and keep the promise to delete sizes on their day."""

from pathlib import Path
from typing import Any

from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError, connection

from catalog.core import clock, history
from catalog.core.backups import opened, restore_backup
from catalog.core.errors import CatalogError
from catalog.core.models import HistoryLine
from catalog.fitting.actions import forget_sizes


class Command(BaseCommand):
    help = "Bring back what `backup` wrote. Stop the site first; afterwards everybody signs in again."
    # The database may be empty: what depends on its tables is checked once they stand.
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", help="the ZIP that backup wrote")
        parser.add_argument("--replace", action="store_true", help="throw away what this site holds now")
        parser.add_argument(
            "--fingerprint", default="", metavar="HASH", help="as backup printed it: proves the manifest"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path = Path(options["file"])
        try:
            with opened(path, options["fingerprint"]) as (archive, backup):
                if not options["replace"] and (here := _what_is_here()):
                    raise CommandError(f"This site is not empty ({here}): to throw that away, say --replace.")
                self.stdout.write(f"{path}: whole, made {backup.manifest.made[:16]}. Restoring.")
                written = restore_backup(archive, backup)
        except CatalogError as wrong:
            raise CommandError(wrong.sentence) from wrong
        except OSError as refused:
            raise CommandError(f"{refused.filename or path}: {refused.strerror or refused}.") from refused
        except DatabaseError as wrong:
            raise CommandError(f"The database cannot be restored: {str(wrong).splitlines()[0]}.") from wrong
        rows = sum(backup.manifest.facts.counts.values())
        self.stdout.write(f"{rows:,} rows are back as counted in the backup; {written:,} picture files written.")
        for name in backup.manifest.missing:
            self.stderr.write(f"{name} was missing when the backup was made.")
        call_command("migrate", verbosity=0, interactive=False)
        self._prove()
        self._forget()

    def _prove(self) -> None:
        faults = list(history.faults())
        if faults:
            raise CommandError(f"The restored history is not whole: {len(faults)} faults, first: {faults[0]}")
        self.stdout.write(f"{HistoryLine.objects.count():,} history lines are whole.")

    def _forget(self) -> None:
        deleted = forget_sizes(today=clock.today())
        for reference, number in deleted.items():
            self.stdout.write(f"{reference}: {number} size sheets past their day deleted again.")
        if not deleted:
            self.stdout.write("No size sheet is past its day.")


def _what_is_here() -> str:
    """What would be lost, in words; nothing where there are no tables, or no people and no history in them."""
    tables = connection.introspection.table_names()
    if HistoryLine._meta.db_table not in tables:
        return ""
    people, lines = get_user_model().objects.count(), HistoryLine.objects.count()
    words = [(people, "login"), (lines, "history line")]
    return " and ".join(f"{number:,} {word}{'' if number == 1 else 's'}" for number, word in words if number)
