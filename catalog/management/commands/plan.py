"""`plan REF`: the dry run and plan of a call in the terminal. Nothing is stored."""

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from catalog.core.errors import Refused
from catalog.fitting.calc.plan import CROWD, plan
from catalog.fitting.calc.plan_types import Plan, PlanError, Problem, Progress
from catalog.fitting.queries import DryRun, Planner, as_json, dry_run, public_left_out
from catalog.fitting.whatif_queries import if_words, refuse_unknown, supposed
from catalog.loans.queries import call_by_reference


class Command(BaseCommand):
    help = "How many of a call can be dressed, who is left out and why, what must be made. Holds and stores nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("reference", metavar="REF", help="the call's reference")
        parser.add_argument("--json", action="store_true", help="print the documented keys as JSON")
        parser.add_argument("--sizes", choices=["best", "card"], help="best sizes known (the default), or cards alone")
        parser.add_argument(
            "--as-if-found", action="append", default=[], metavar="CODE", help="a place or trunk, as if found"
        )
        parser.add_argument(
            "--as-if-released", action="append", default=[], metavar="HOLD", help="a hold, as if released"
        )
        parser.add_argument("--with-making", action="store_true", help="make what is short")
        parser.add_argument(
            "--seconds",
            type=float,
            metavar="N",
            help="stop after so long, with the best plan found till then",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        call = call_by_reference(options["reference"])
        if call is None:
            raise CommandError(f"There is no call {options['reference']}.")
        try:
            refuse_unknown(found=options["as_if_found"], released=options["as_if_released"])
        except Refused as unknown:
            raise CommandError(str(unknown)) from unknown
        if options["seconds"] is not None and options["seconds"] <= 0:
            raise CommandError("--seconds must be more than nothing.")
        if options["sizes"]:
            self.stderr.write("Body data may follow: keep this output in the wardrobe.")
        try:
            run = dry_run(
                call,
                sizes=options["sizes"] or "best",
                found=options["as_if_found"],
                released=options["as_if_released"],
                with_making=options["with_making"],
                planner=self._planner(options["seconds"]),
            )
        except PlanError as stuck:
            raise CommandError(str(stuck)) from stuck
        if options["json"]:
            self.stdout.write(json.dumps(as_json(run), indent=2))
        else:
            self.stdout.write("\n".join(lines_of(run)))

    def _planner(self, seconds: float | None) -> Planner:
        """Plan as long as is asked, and for a crowd tell on the error stream how far each aim is."""

        def told(step: Progress) -> None:
            self.stderr.write(f"{step.aim}: {step.incumbent} so far, {step.bound} cannot be passed")

        def planner(problem: Problem) -> Plan:
            crowd = len(problem.wearers) > CROWD
            return plan(problem, time_limit_s=seconds, progress=told if crowd else None)

        return planner


def lines_of(run: DryRun) -> list[str]:
    """The answer in a few lines: the answer first, then counts, limits, who is left out, what comes next."""
    found = run.plan
    words = if_words(supposed(run))
    about = f"{run.call.reference}, {words[0].lower()}{words[1:]}:" if words else f"{run.call.reference}:"
    lines = [f"{about} {found.total} of {run.asked_total} can be dressed."]
    if run.range is not None and run.range.low.total != run.range.high.total:
        lines[0] = (
            f"{about} between {run.range.low.total} and {run.range.high.total} "
            f"of {run.asked_total} can be dressed; some sizes are from cards alone."
        )
        lines += [f"  {slot.sentence}" for slot in run.range.deciding[:5]]
    for code, asked in run.asked.items():
        limit = found.limits.get(code)
        lines.append(
            f"  {run.roles[code].name}: {found.dressed.get(code, 0)} of {asked}, "
            f"{found.whole_sets.get(code, 0)} in one whole original set."
            + (f" {limit.sentence}" if limit is not None and found.dressed.get(code, 0) < asked else "")
        )
    if found.make:
        lines.append(f"  To make: {len(found.make)}.")
        lines += [f"    {run.problem.word(row.slot)} for performer {row.wearer}" for row in found.make]
    left_out = public_left_out(run)
    if left_out:
        lines.append("  Left out: " + ", ".join(f"{wearer} ({reason})" for wearer, reason in left_out) + ".")
    for row in run.work:
        by = f", start by {row.start_by:%-d %b %Y}" if row.start_by else ""
        lines.append(f"  First: {row.piece.number}, {row.work}{by}.")
    lines.append("  Proven best." if found.gap == 0 else f"  Not proven best: no plan dresses more than {run.at_most}.")
    return lines
