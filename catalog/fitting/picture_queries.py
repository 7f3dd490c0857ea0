"""What the drawings of a plan are made from: people against slots, role by role. Never a size."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from catalog.fitting.models import PlanLine
from catalog.fitting.plan_queries import Dressed


@dataclass(frozen=True, slots=True)
class GridCell:
    """One slot of one performer: the piece (None: to be made), its set, and whether it is mended first."""

    piece: str | None
    set_code: str = ""
    original: bool = True
    mend: bool = False


@dataclass(frozen=True, slots=True)
class GridRow:
    """One performer's slots, in the order of the grid."""

    number: str
    cells: tuple[GridCell | None, ...]

    @property
    def whole(self) -> bool:
        """Whether all of it is one whole original set."""
        worn = [cell for cell in self.cells if cell is not None]
        codes = {cell.set_code if cell.piece and cell.original else "" for cell in worn}
        return len(codes) == 1 and "" not in codes


@dataclass(frozen=True, slots=True)
class PlanGrid:
    """A role's plan: the names of its slots, and a row a performer."""

    role: str
    slots: tuple[str, ...]
    rows: tuple[GridRow, ...]


def plan_grids(dressed: Iterable[Dressed], mended: Collection[str] = ()) -> list[PlanGrid]:
    """The kept plan role by role; `mended` are numbers of pieces that need work first."""
    by_role: dict[str, list[Dressed]] = {}
    for person in dressed:
        by_role.setdefault(person.role, []).append(person)
    return [_grid(role, people, mended) for role, people in sorted(by_role.items())]


def _grid(role: str, people: list[Dressed], mended: Collection[str]) -> PlanGrid:
    slots = {line.slot.pk: line.slot for person in people for line in person.lines}
    order = sorted(slots.values(), key=lambda slot: (slot.order, slot.code))
    rows = []
    for person in people:
        own = {line.slot_id: _cell(line, mended) for line in person.lines}
        rows.append(GridRow(person.wearer.number, tuple(own.get(slot.pk) for slot in order)))
    return PlanGrid(role, tuple(slot.name for slot in order), tuple(rows))


def _cell(line: PlanLine, mended: Collection[str]) -> GridCell:
    if line.piece is None:
        return GridCell(None)
    code = line.piece.set.code if line.piece.set is not None else ""
    original = line.piece.origin == line.piece.Origin.ORIGINAL
    return GridCell(line.piece.number, code, original, line.piece.number in mended)
