"""The picture of a day: hours downward, roles across, each answer as a word on its own pattern."""

from collections.abc import Iterator
from dataclasses import dataclass

from catalog.shipping.calc.heat_hours import HeatVerdict
from catalog.shipping.heat_queries import CallHeat, DayHeat

LEFT, TOP, WIDE, HIGH = 48, 44, 54, 26
# So many roles stay readable side by side on a phone; more go into a second picture.
ROLES_A_PICTURE = 3
_KEYS = {
    HeatVerdict.NO: "no",
    HeatVerdict.UNKNOWN: "unknown",
    HeatVerdict.MEASURE: "measure",
    HeatVerdict.MAY: "may",
}
_WORDS = {
    HeatVerdict.NO: "no",
    HeatVerdict.UNKNOWN: "?",
    HeatVerdict.MEASURE: "measure",
    HeatVerdict.MAY: "may",
}


@dataclass(frozen=True, slots=True)
class Cell:
    """One answer in its place."""

    x: int
    y: int
    key: str
    word: str

    @property
    def middle(self) -> tuple[int, int]:
        """Where its word stands."""
        return self.x + WIDE // 2, self.y + HIGH // 2


@dataclass(frozen=True, slots=True)
class Picture:
    """Headings, hours and cells of one picture."""

    key: str
    width: int
    height: int
    heads: tuple[tuple[int, str], ...]
    states: tuple[tuple[int, str, bool], ...]
    hours: tuple[tuple[int, str], ...]
    cells: tuple[Cell, ...]
    edges: tuple[int, ...]


def pictures(found: CallHeat, day: DayHeat) -> Iterator[Picture]:
    """One picture for every three roles."""
    step = ROLES_A_PICTURE * 2
    for start in range(0, len(found.columns), step):
        columns = found.columns[start : start + step]
        xs = [LEFT + number * WIDE for number in range(len(columns))]
        ys = [TOP + number * HIGH for number in range(len(day.hours))]
        cells = tuple(
            Cell(x, y, _KEYS[cell.verdict], _WORDS[cell.verdict])
            for y, hour in zip(ys, day.hours, strict=True)
            for x, cell in zip(xs, hour.cells[start : start + step], strict=True)
        )
        yield Picture(
            key=f"{day.first:%m%d}-{start}",
            width=LEFT + len(columns) * WIDE + 2,
            height=TOP + len(day.hours) * HIGH + 2,
            heads=tuple((xs[n] + WIDE, columns[n].role.role.name) for n in range(0, len(columns), 2)),
            states=tuple(
                (x + WIDE // 2, "used" if column.used else "new", column.applies)
                for x, column in zip(xs, columns, strict=True)
            ),
            hours=tuple((y + HIGH // 2, f"{hour.hour:02d}:00") for y, hour in zip(ys, day.hours, strict=True)),
            cells=cells,
            edges=tuple(xs[n] for n in range(0, len(columns), 2)),
        )
