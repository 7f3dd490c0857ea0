"""The size of a garment as it is now: its measures with the alterations that are in it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Prefetch

from catalog.care.calc.alterations import Change, Sizes, sizes
from catalog.care.models import Alteration
from catalog.pieces.calc.kinds import KINDS, POINTS, Point
from catalog.pieces.models import Measure, Piece


def size_changes() -> "Prefetch[str]":
    """For `prefetch_related`: every change of a size of the pieces, as `size_changes`."""
    return Prefetch("alterations", Alteration.objects.filter(change_mm__isnull=False), to_attr="size_changes")


def sizes_of(measures: Iterable[Measure], alterations: Iterable[Alteration]) -> dict[str, Sizes]:
    """Original and present size of each point that has a row. No query."""
    changes: Mapping[str, list[Change]] = defaultdict(list)
    for row in alterations:
        if row.change_mm is not None:
            changes[row.point].append(Change(row.change_mm, row.done_on, row.before_mm, row.undone_on))
    return {row.point: sizes(row.value_mm, row.taken_on, changes[row.point], row.let_out_mm) for row in measures}


def sizes_of_piece(piece: Piece, point: str) -> Sizes:
    """The same of one point; a point without a measure keeps what was changed at it. Two queries."""
    row = Measure.objects.filter(piece=piece, point=point).first() or Measure(piece=piece, point=point)
    return sizes_of([row], Alteration.objects.filter(piece=piece, point=point))[point]


@dataclass(frozen=True, slots=True)
class CardRow:
    """One point of the garment card."""

    point: Point
    sizes: Sizes
    measure: Measure


@dataclass(frozen=True, slots=True)
class GarmentCard:
    """What a garment was and is: sizes by point in the order of its kind, alterations in it and those undone."""

    piece: Piece
    rows: tuple[CardRow, ...]
    open: tuple[Alteration, ...]
    undone: tuple[Alteration, ...]

    @property
    def reserves(self) -> tuple[CardRow, ...]:
        """The seams whose reserve is known."""
        return tuple(row for row in self.rows if row.sizes.reserve is not None)

    @property
    def altered(self) -> int:
        """How many points are another size than they were made."""
        return sum(row.sizes.is_altered for row in self.rows)


def garment_card(piece: Piece) -> GarmentCard:
    """The card of one piece; two queries."""
    measures = {row.point: row for row in piece.measures.all()}
    alterations = list(piece.alterations.all())
    found = sizes_of(measures.values(), alterations)
    usual = KINDS[piece.kind].points
    order = [*(key for key in usual if key in measures), *(key for key in measures if key not in usual)]
    rows = tuple(CardRow(POINTS[key], found[key], measures[key]) for key in order)
    return GarmentCard(
        piece,
        rows,
        tuple(row for row in alterations if row.undone_on is None),
        tuple(row for row in alterations if row.undone_on is not None),
    )
