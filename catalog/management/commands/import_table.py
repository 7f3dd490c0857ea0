"""import_table KIND FILE: load a spreadsheet or CSV of the archive's own."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from catalog.core.errors import BadTable, CatalogError
from catalog.exchange.actions import Outcome, import_table
from catalog.exchange.calc.columns import KIND_WORDS, TABLES
from catalog.exchange.people import at_the_keyboard
from catalog.exchange.reading import read_json


class Command(BaseCommand):
    help = "Load a table (CSV UTF-8, XLSX or JSON). All rows are stored, or none; faults name row and field."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("kind", help=f"one of: {', '.join(KIND_WORDS)}")
        parser.add_argument("file", nargs="?", help="the table; leave it out to see the columns of the kind")
        parser.add_argument("--mapping", help="JSON file: which column of the file is which of ours")
        parser.add_argument("--call", default="", help="for a roster, weather and heat_dress: the call's reference")
        parser.add_argument("--dry-run", action="store_true", help="show what would be stored and store nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        kind, path = options["kind"], options["file"]
        if path is None:
            self._show_columns(kind)
            return
        try:
            outcome = import_table(
                by=at_the_keyboard(),
                kind=kind,
                data=_bytes(path),
                file_name=Path(path).name,
                mapping=read_json(_bytes(options["mapping"]), options["mapping"]) if options["mapping"] else None,
                call=options["call"],
                dry_run=options["dry_run"],
            )
        except BadTable as wrong:
            for fault in wrong.faults:
                self.stderr.write(fault)
            raise CommandError(wrong.sentence) from wrong
        except CatalogError as wrong:
            raise CommandError(wrong.sentence) from wrong
        self._tell(outcome)

    def _tell(self, outcome: Outcome) -> None:
        for note in outcome.notes:
            self.stdout.write(note)
        if outcome.dry_run:
            for number, row in enumerate(outcome.rows, 1):
                told = "; ".join(f"{name} {value}" for name, value in zip(outcome.header, row, strict=True) if value)
                self.stdout.write(f"{number}. {told}")
        self.stdout.write(outcome.sentence)

    def _show_columns(self, kind: str) -> None:
        table = TABLES.get(kind)
        if table is None:
            raise CommandError(f"Name a file. Kinds with columns of their own: {', '.join(TABLES)}.")
        for column in table.columns:
            need = "needed" if column.required else ""
            words = f"one of {', '.join(column.type.words)}" if column.type.words else column.type.sort
            unit = f" ({column.type.unit})" if column.type.unit else ""
            self.stdout.write("  ".join(filter(None, [f"{column.name:22}", f"{words}{unit}", need, column.help])))
        for prefix in table.prefixes:
            self.stdout.write(f"{prefix}:GROUP              text  the piece's value in a match group")


def _bytes(path: str) -> bytes:
    try:
        return Path(path).read_bytes()
    except OSError as wrong:
        raise CommandError(f"{path} cannot be read: {wrong.strerror}.") from wrong
