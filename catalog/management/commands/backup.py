"""`backup DIR`: database and pictures in one file, taken while others work. Run it every night."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError

from catalog.core import clock
from catalog.core.backups import Backup, delete_older, make_backup
from catalog.core.errors import CatalogError


class Command(BaseCommand):
    help = "Write database and pictures into one ZIP in DIR while others work, read it back, and say what it holds."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", metavar="DIR", help="where to write it; made if it is missing")
        parser.add_argument("--keep", type=int, metavar="N", help="afterwards delete all but the newest N in DIR")

    def handle(self, *args: Any, **options: Any) -> None:
        folder, keep = Path(options["folder"]), options["keep"]
        if keep is not None and keep < 1:
            raise CommandError("--keep: at least 1 backup is kept.")
        try:
            made = make_backup(folder, clock.now())
            gone = delete_older(folder, keep) if keep is not None else []
        except CatalogError as wrong:
            raise CommandError(wrong.sentence) from wrong
        except OSError as refused:
            raise CommandError(f"{refused.filename or folder}: {refused.strerror or refused}.") from refused
        except DatabaseError as wrong:
            raise CommandError(f"The database cannot be copied: {str(wrong).splitlines()[0]}.") from wrong
        self._tell(made)
        for path in gone:
            self.stdout.write(f"Deleted the older {path.name}.")

    def _tell(self, made: Backup) -> None:
        held, size = made.manifest.facts, made.path.stat().st_size / 1e6
        pictures = len(made.manifest.files) - 1
        lines = held.counts["catalog_historyline"]
        self.stdout.write(f"{made.path}: {size:.1f} MB, read back and whole.")
        self.stdout.write(f"{sum(held.counts.values()):,} rows, {lines:,} history lines, {pictures:,} picture files.")
        if held.last_line is not None:
            self.stdout.write("Newest history line: {kind} {id}, line {seq}, {hash}.".format(**held.last_line))
        self.stdout.write(f"Fingerprint {made.fingerprint} (keep it apart: `restore --fingerprint` asks for it).")
        if made.manifest.missing:
            lost = made.manifest.missing
            self.stderr.write(f"{len(lost)} picture files are named in the database but not there, first: {lost[0]}.")
