"""The clocks of pieces with a limit, and what was seen to be damaged."""

from collections.abc import Iterable
from datetime import datetime

from django.utils import timezone

from catalog.care.models import WearDecision
from catalog.core import clock
from catalog.loans.calc.wear_clock import Spell, WearClock, wear_clock
from catalog.loans.models import DamageNote, LoanLine, WearSpell


def clocks(lines: Iterable[LoanLine], at: datetime | None = None) -> dict[int, WearClock]:
    """The clock of each piece, by its pk, at a moment (None: now), all its loans together. Two queries."""
    ids = [line.piece_id for line in lines]
    decided = WearDecision.objects.filter(piece__in=ids, current=True)
    limits = {row[0]: row[1:] for row in decided.values_list("piece_id", "minutes_limit", "rest_minutes")}
    spells: dict[int, list[Spell]] = {}
    rows = WearSpell.objects.filter(line__piece__in=ids).order_by("started_at", "id")
    for piece_id, start, stop, again_by in rows.values_list("line__piece_id", "started_at", "stopped_at", "again_by"):
        spells.setdefault(piece_id, []).append(Spell(start, stop, bool(again_by)))
    now, zone = at or clock.now(), timezone.get_current_timezone()
    found = {}
    for piece_id in ids:
        limit, rest = limits.get(piece_id, (None, None))
        found[piece_id] = wear_clock(spells.get(piece_id, ()), now, zone, limit_minutes=limit, rest_minutes=rest)
    return found


def damage_of(lines: Iterable[LoanLine]) -> dict[int, list[DamageNote]]:
    """What was noted on set of each line, by its pk, the oldest first. One query."""
    found: dict[int, list[DamageNote]] = {}
    for row in DamageNote.objects.filter(line__in=[line.pk for line in lines]).select_related("wearer"):
        found.setdefault(row.line_id, []).append(row)
    return found


def at_time(moment: datetime) -> str:
    """The time of a moment, with its day when that is another than today."""
    local = timezone.localtime(moment)
    return f"{local:%H:%M}" if local.date() == clock.today() else f"{local:%H:%M on %-d %b}"
