"""Which pieces are not in a look yet, what each still needs, and by when it must start."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from catalog.care.calc.first_work import Dates, Timed, Work, timed
from catalog.care.first_queries import work_of
from catalog.care.models import LookSample
from catalog.core import clock, house
from catalog.pieces.models import Look, Piece


@dataclass(frozen=True, slots=True)
class Unlike:
    """A piece in another look or in none, and the work that is open on it with its days."""

    piece: Piece
    work: tuple[tuple[Work, Timed | None], ...]

    @property
    def days(self) -> int | None:
        """The days of the first job that says how many; None when nobody has."""
        return next((work.days for work, _ in self.work if work.days is not None), None)


def of_roles(pieces: QuerySet[Piece], look: Look, roles: Collection[str]) -> QuerySet[Piece]:
    """The pieces of the look's production that dress somebody; with `roles`, only of those codes."""
    rows = pieces.filter(production=look.production, role__isnull=False)
    return rows.filter(role__code__in=roles) if roles else rows


def not_in_look(pieces: QuerySet[Piece], look: Look, ready_by: date | None = None) -> list[Unlike]:
    """Those of the pieces that are in another look or of which nobody has said it; a fixed number of queries."""
    other = pieces.filter(Q(look__isnull=True) | ~Q(look=look)).select_related("role", "slot", "look")
    rows = list(other.order_by("role__code", "number"))
    works = work_of(piece.pk for piece in rows)
    dates = Dates(ready_by, clock.today(), closed=house.closed_days()) if ready_by else None
    return [
        Unlike(piece, tuple((work, timed(work, dates) if dates else None) for work in works.get(piece.pk, ())))
        for piece in rows
    ]


def samples_of(look: Look) -> list[LookSample]:
    """Every try, the oldest first."""
    return list(look.samples.order_by("number"))
