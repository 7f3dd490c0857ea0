"""`bench [NAME ...]`: measure the program against plain baselines, in one run on this machine."""

import json
import os
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError

from catalog.desk.bench.benches import BENCHES
from catalog.desk.bench.measuring import BenchError, Measurement
from catalog.exchange.demo_actions import mark

# Set for the run inside the scratch folder, so that it never makes another one.
INSIDE = "WRAPKEEP_BENCH_INSIDE"


class Command(BaseCommand):
    help = (
        "Measure against named baselines: interleaved, equal results asserted, medians. Needs a few minutes, "
        "plan_400 alone five to fifteen and hold_race ten to sixty."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("names", nargs="*", metavar="NAME", help=f"which ones: {', '.join(BENCHES)}; empty: all")
        parser.add_argument("--json", action="store_true", help="print a list of objects with the documented keys")

    def handle(self, *args: Any, **options: Any) -> None:
        names = options["names"] or list(BENCHES)
        for name in names:
            if name not in BENCHES:
                raise CommandError(f"There is no bench {name}; there are: {', '.join(BENCHES)}.")
        if "plan_400" in names:
            self.stderr.write("plan_400: its baseline takes five to fifteen minutes.")
        if "hold_race" in names:
            self.stderr.write("hold_race: 64,000 holds are tried on each database; ten to thirty minutes each.")
        if _has_demo():
            self.stderr.write("Measured on the demo in this site's own database.")
        elif os.environ.get(INSIDE):
            raise CommandError("The demo could not be loaded into the scratch folder.")
        else:
            self._in_scratch(names, as_json=options["json"])
            return
        try:
            found = [BENCHES[name]() for name in names]
        except BenchError as wrong:
            raise CommandError(str(wrong)) from wrong
        if options["json"]:
            self.stdout.write(json.dumps([one.as_json() for one in found], indent=2))
        else:
            self.stdout.write("\n".join(line_of(one) for one in found))

    def _in_scratch(self, names: list[str], *, as_json: bool) -> None:
        """No demo here: load it into a folder that is thrown away, and measure there."""
        self.stderr.write("This site holds no demo: loading it into a scratch folder first.")
        with TemporaryDirectory(prefix="wrapkeep-bench-") as folder:
            around = {key: value for key, value in os.environ.items() if key not in ("DATABASE_URL", "WRAPKEEP_HOSTS")}
            around |= {"WRAPKEEP_DATA": folder, INSIDE: "yes"}
            manage = [sys.executable, str(Path(settings.BASE_DIR) / "manage.py")]
            self._told([*manage, "demo", "--no-serve", "--no-pictures"], around)
            words = [*manage, "bench", *names, *(["--json"] if as_json else [])]
            self.stdout.write(self._told(words, around).rstrip("\n"))

    def _told(self, words: list[str], around: dict[str, str]) -> str:
        ran = subprocess.run(words, env=around, capture_output=True, text=True, check=False)  # noqa: S603 - our own words
        if ran.returncode:
            last = (ran.stderr.strip() or ran.stdout.strip() or "it said nothing").splitlines()[-1]
            raise CommandError(f"{words[2]} in the scratch folder failed: {last}")
        return ran.stdout


def line_of(one: Measurement) -> str:
    """A measurement as one line for a reader."""
    word = "reached" if one.ok else "MISSED"
    return (
        f"{one.name}: {one.value:g} {one.unit} against {one.baseline_value:g} {one.unit} ({one.baseline}); "
        f"ratio {one.ratio:g}, goal {one.goal}: {word}."
    )


def _has_demo() -> bool:
    try:
        return mark() is not None
    except DatabaseError:
        return False
