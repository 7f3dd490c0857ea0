"""What each planned dress weighs on its wearer. Tells a body's weight by its share: for whoever reads size sheets."""

from dataclasses import dataclass

from catalog.fitting.body_queries import person_of, wearers_of
from catalog.fitting.calc.body import best_measures
from catalog.fitting.calc.worn_load import WornLoad, worn_load
from catalog.fitting.models import Plan, PlanLine
from catalog.loans.models import Wearer


@dataclass(frozen=True, slots=True)
class LoadRow:
    """A performer, the role, what the planned dress weighs, and which pieces are yet to be made."""

    wearer: Wearer
    role: str
    load: WornLoad
    lines: tuple[PlanLine, ...]
    to_make: tuple[str, ...]

    @property
    def in_hundred(self) -> int | None:
        """The load as so many in a hundred of the wearer's own weight."""
        return None if self.load.share is None else round(100 * self.load.share)

    @property
    def least(self) -> bool:
        """Whether the weight is only a lower bound."""
        return bool(self.load.not_weighed or self.to_make)


def loads_of(plan: Plan) -> list[LoadRow]:
    """Every dress of the kept plan, the largest share of own weight first; not known comes first of all."""
    wearers = {wearer.pk: wearer for wearer in wearers_of(plan.call)}
    lines = plan.lines.select_related("role", "slot", "piece").order_by("wearer__number", "slot__order")
    by_wearer: dict[int, list[PlanLine]] = {}
    for line in lines:
        by_wearer.setdefault(line.wearer_id, []).append(line)
    rows = [_row(wearers[key], own) for key, own in by_wearer.items() if key in wearers]
    rows.sort(key=lambda row: (row.load.share is not None, -(row.load.share or 0.0), row.wearer.number))
    return rows


def _row(wearer: Wearer, lines: list[PlanLine]) -> LoadRow:
    weight = best_measures(person_of(wearer).measures).get("weight")
    pieces = [(line.piece.number, line.piece.weight_g) for line in lines if line.piece is not None]
    made = tuple(line.slot.name for line in lines if line.piece is None)
    load = worn_load(pieces, weight.value if weight is not None else None)
    return LoadRow(wearer, lines[0].role.name, load, tuple(lines), made)
