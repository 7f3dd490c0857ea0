"""The packing list as a paper: a part for each crate, to lie in it and to be kept outside it."""

from collections.abc import Iterator, Sequence

from reportlab.platypus import Flowable, PageBreak

from catalog.care.calc.cautions import LOCAL_RULES
from catalog.core.paper import parts
from catalog.core.paper.page import Heading, paper_pdf
from catalog.core.units import show_length, show_weight
from catalog.loans.models import Loan
from catalog.shipping.calc.crate_lift import CAUTIONS, SOURCE
from catalog.shipping.pack_queries import CrateRow, ItemRow


def packing_list_pdf(loan: Loan, rows: Sequence[CrateRow], heading: Heading, size: str) -> bytes:
    """A page or more for each crate. Raises KeyError for a size nobody declared."""
    found: list[Flowable] = []
    for row in rows:
        if found:
            found.append(PageBreak())
        found += _crate(loan, row, len(rows))
    return paper_pdf(heading, found, size)


def _crate(loan: Loan, row: CrateRow, total: int) -> Iterator[Flowable]:
    count = len(row.items)
    yield parts.answer(f"Crate {row.number} of {total}: {count} {'piece' if count == 1 else 'pieces'}.")
    yield parts.facts(_facts(loan, row))
    if row.hot:
        yield parts.strong(f"Keep cool, open first: heat harms {row.hot} of what is in it.")
    if row.lift.people != 1:
        yield parts.strong(f"{row.lift.mark.capitalize()}. {row.lift.sentence}")
    yield parts.heading("In the order of laying")
    cells = [[str(n), *_item(item)] for n, item in enumerate(row.items, start=1)]
    yield parts.table(["", "Piece", "Weight", "Where in the crate", "Mind", "In"], cells, [8, 68, 18, 36, 30, 14])
    yield parts.gap()
    yield parts.small(
        "After a large change of temperature leave the closed crate in the room for 24 hours before it is opened "
        "(library practice, a secondary page)."
    )
    yield parts.small(f"{' '.join(CAUTIONS)} {SOURCE} {LOCAL_RULES}")
    yield parts.gap(6)
    yield parts.facts([("Packed by, date", "_" * 40), ("Received by, date", "_" * 40)])


def _facts(loan: Loan, row: CrateRow) -> list[tuple[str, parts.Cell]]:
    kept = row.kept
    weighed = "not weighed yet" if kept is None or kept.weighed_g is None else show_weight(kept.weighed_g)
    at_least = "at least " if row.unknown else ""
    sides = " × ".join(show_length(side) for side in row.spec.outer_mm)
    return [
        ("Loan", f"{loan.reference}, {loan.to_whom}, due back {loan.due_on:%-d %b %Y}"),
        ("Crate", f"{row.spec.name}, {sides} outside" + (f", {kept.place.code}" if kept else "")),
        ("Gross weight, computed", f"{at_least}{show_weight(row.gross_g)}"),
        ("Gross weight, weighed", weighed),
        ("Seals", kept.seal if kept and kept.seal else "none yet"),
        ("Lift", row.lift.mark),
        ("Where the weight is", f"{row.lying.centre.words} (estimate)"),
    ]


def _item(item: ItemRow) -> list[parts.Cell]:
    weight = "not weighed" if item.thing.weight_g is None else show_weight(item.thing.weight_g)
    mind = "; ".join(word for word in ("heat" if item.thing.heat else "", item.laid.free) if word)
    return [
        parts.stack(parts.strong(item.piece.number), parts.small(item.piece.name)),
        weight,
        item.laid.bay,
        mind,
        "yes" if item.packed else "",
    ]
