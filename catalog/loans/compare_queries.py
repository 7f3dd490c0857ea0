"""Which two pictures of a piece show it before a loan and after it, in the same view."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from catalog.access.models import User
from catalog.loans.models import LoanLine
from catalog.pieces.models import PieceFile
from catalog.pieces.queries import pictures_for


@dataclass(frozen=True, slots=True)
class Choice:
    """The pictures that can be chosen on each side, oldest first, and the two that are compared (None: none)."""

    before: tuple[PieceFile, ...]
    after: tuple[PieceFile, ...]
    out: PieceFile | None
    back: PieceFile | None


def pictures_of(line: LoanLine, user: User, *, out: str = "", back: str = "") -> Choice:
    """The newest picture from before the loan left and the newest since, of the same view if there is such a pair.

    `out` and `back` name others by their pk; an unknown one counts as none named. Only what the person may see.
    """
    rows = sorted(pictures_for(line.piece, user), key=lambda row: (row.added_at, row.pk))
    left = line.loan.out_on
    before = tuple(row for row in rows if left is None or _day(row) <= left)
    after = tuple(row for row in rows if left is not None and _day(row) > left)
    wanted_out, wanted_back = _named(before, out), _named(after, back)
    if wanted_out is None and wanted_back is None:
        pairs = [(one, other) for other in reversed(after) for one in reversed(before) if one.view == other.view]
        if pairs:
            return Choice(before, after, *min(pairs, key=lambda pair: PieceFile.View.values.index(pair[0].view)))
    wanted_back = wanted_back or _like(after, wanted_out)
    return Choice(before, after, wanted_out or _like(before, wanted_back), wanted_back)


def _like(rows: Sequence[PieceFile], other: PieceFile | None) -> PieceFile | None:
    """The newest of the same view, else the newest; None when there is none at all."""
    same = [row for row in rows if other is not None and row.view == other.view]
    ordered = same or list(rows)
    return ordered[-1] if ordered else None


def _named(rows: Sequence[PieceFile], pk: str) -> PieceFile | None:
    return next((row for row in rows if str(row.pk) == pk), None)


def _day(row: PieceFile) -> date:
    return timezone.localdate(row.added_at)
