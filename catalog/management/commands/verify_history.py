"""verify_history: every chain of history lines read from its first line to its last."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from catalog.core import history
from catalog.core.models import HistoryLine


class Command(BaseCommand):
    help = "Check that no history line was changed or lost. Names the first broken line of each chain."

    def handle(self, *args: Any, **options: Any) -> None:
        number = 0
        for fault in history.faults():
            number += 1
            self.stderr.write(fault)
        if number:
            raise CommandError(f"The history is not whole: {number} {'fault' if number == 1 else 'faults'}.")
        lines = HistoryLine.objects.count()
        chains = HistoryLine.objects.values("subject_kind", "subject_id").distinct().count()
        verb = "is" if lines == 1 else "are"
        told = f"{lines} {'line' if lines == 1 else 'lines'} in {chains} {'chain' if chains == 1 else 'chains'}"
        self.stdout.write(f"{told} {verb} whole.")
