"""The order in which rows can be stored."""

from collections.abc import Sequence

from catalog.exchange.calc.rows import Row


def parents_first(rows: Sequence[Row]) -> tuple[Row, ...]:
    """Rows with `code` and `parent` so that a parent in the same table comes before its children.

    Rows in a ring of parents keep their places: the loader then says that the parent does not exist.
    """
    by_code = {str(row.get("code", "")).lower(): row for row in rows}
    placed: set[int] = set()
    found: list[Row] = []
    for row in rows:
        chain: list[Row] = []
        step: Row | None = row
        while step is not None and step.number not in placed and step not in chain:
            chain.append(step)
            step = by_code.get(str(step.get("parent", "")).lower())
        for one in reversed(chain):
            placed.add(one.number)
            found.append(one)
    return tuple(found)
