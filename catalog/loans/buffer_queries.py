"""The pieces' own needs before a use, from the rows: freezing, treatment and repair lengthen the buffer of a hold."""

from collections.abc import Collection, Mapping
from datetime import date

from catalog.care.first_queries import work_of
from catalog.core import house
from catalog.loans.calc import buffers
from catalog.loans.models import Hold
from catalog.pieces.models import Piece


def days_before(piece_ids: Collection[int], use_from: date) -> int:
    """The longest buffer that any of the pieces needs; 0 when none needs anything. Two or three queries."""
    works = work_of(piece_ids)
    closed = house.closed_days() if works else frozenset()
    return max((buffers.days_needed(use_from, rows, closed) for rows in works.values()), default=0)


def too_short(hold: Hold, pieces: Mapping[int, Piece]) -> list[str]:
    """A sentence for each piece whose own work must begin before its hold does."""
    works = work_of(pieces)
    closed = house.closed_days() if works else frozenset()
    said = []
    for piece_id, rows in works.items():
        begin = buffers.begin_by(hold.use_from, rows, closed)
        if begin < hold.starts:
            early = f" That is before the hold begins on {hold.starts:%-d %b %Y}."
            said.append(buffers.sentence(pieces[piece_id].number, rows, begin) + early)
    return sorted(said)
