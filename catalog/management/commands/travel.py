"""`travel REF`: may each piece of a call travel, by which way, and why."""

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from catalog.desk.travel import TravelList, travel_list
from catalog.fitting.calc.plan_types import PlanError
from catalog.loans.queries import call_by_reference
from catalog.shipping.calc.facts import Mode
from catalog.shipping.calc.travel import CAUTION
from catalog.shipping.queries import as_json


class Command(BaseCommand):
    help = "May fly, road only or stays, for each piece of a call: those held, else planned, else of the dry run."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("reference", metavar="REF", help="the call's reference")
        parser.add_argument("--json", action="store_true", help="print piece, mode, verdict, reasons, rules, sources")

    def handle(self, *args: Any, **options: Any) -> None:
        call = call_by_reference(options["reference"])
        if call is None:
            raise CommandError(f"There is no call {options['reference']}.")
        try:
            found = travel_list(call)
        except PlanError as stuck:
            raise CommandError(str(stuck)) from stuck
        if options["json"]:
            self.stdout.write(json.dumps(as_json(found.answers), indent=2))
        else:
            self.stdout.write("\n".join(lines_of(found)))


def lines_of(found: TravelList) -> list[str]:
    """The counts, then every piece that cannot simply go, with its reasons."""
    counts = ", ".join(f"{found.count(word)} {word}" for word in ("may fly", "road only", "stays"))
    lines = [f"{len(found.answers)} pieces ({found.source}): {counts}."]
    for answer in found.answers:
        road = answer.by_mode[Mode.ROAD]
        if answer.summary.value == "may fly" and not road.reasons:
            continue
        lines.append(f"  {answer.piece.number} {answer.piece.name}: {answer.summary.value}")
        worst = max(answer.by_mode.values(), key=lambda one: one.verdict.rank)
        lines += [f"    {reason.verdict.label}: {reason.text}" for reason in worst.reasons[:3]]
    return [*lines, CAUTION]
