"""Work that pieces need before they may go: what is ordered or under way, and what their wear decision asks for."""

from collections import defaultdict
from collections.abc import Iterable, Mapping

from catalog.care.calc.first_work import Work, with_repair
from catalog.care.models import Treatment, WearDecision
from catalog.core.days import Kind


def work_of(piece_ids: Iterable[int]) -> Mapping[int, tuple[Work, ...]]:
    """The open work of each piece, by its pk; a piece that needs none is missing. Two queries."""
    ids = list(piece_ids)
    ordered: dict[int, list[Work]] = defaultdict(list)
    for row in Treatment.objects.filter(piece__in=ids, state__in=Treatment.OPEN).order_by("id"):
        work = Work(row.what, row.days, Kind(row.day_kind), row.started_on, row.against_pests)
        ordered[row.piece_id].append(work)
    repairs = {
        row.piece_id: Work(row.repair, row.repair_days, Kind(row.repair_day_kind))
        for row in WearDecision.objects.filter(piece__in=ids, current=True, decision=WearDecision.Decision.REPAIR)
    }
    return {pk: with_repair(ordered.get(pk, ()), repairs.get(pk)) for pk in {*ordered, *repairs}}
