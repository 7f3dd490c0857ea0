"""`forget_sizes`: delete the size sheets whose day has come, with names and exclusions. Run it every night.

What phones sent and was answered is forgotten with it, once no phone will ask for it again.
"""

from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from catalog.core import clock
from catalog.core.lanes import forget_answered
from catalog.fitting.actions import forget_sizes


class Command(BaseCommand):
    help = "Delete size sheets on their date. Afterwards no table holds those performers' names or measures."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--today", metavar="DATE", help="as if it were this day, for example 2026-12-28")

    def handle(self, *args: Any, **options: Any) -> None:
        today = clock.today()
        if options["today"]:
            try:
                today = date.fromisoformat(options["today"])
            except ValueError as wrong:
                raise CommandError(f"--today: “{options['today']}” is no date; write 2026-12-28.") from wrong
        deleted = forget_sizes(today=today)
        for reference, number in deleted.items():
            self.stdout.write(f"{reference}: {number} size sheets deleted.")
        if not deleted:
            self.stdout.write("No size sheet is due.")
        if acts := forget_answered():
            self.stdout.write(f"{acts} answered acts of phones forgotten.")
