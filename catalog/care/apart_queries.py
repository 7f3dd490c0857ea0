"""What keeps pieces where they are, from the rows: open pest work and open quarantine; and the refusal made of it."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping

from django.db.models import QuerySet

from catalog.care.calc.apart import KeptApart, PestWork, pest_refusal
from catalog.care.models import Quarantine, Treatment
from catalog.core import house
from catalog.core.days import Kind
from catalog.core.errors import WrongState
from catalog.pieces.models import Piece


def open_pest_work() -> "QuerySet[Treatment]":
    """Every piece of pest work that is ordered or under way, the one that began first in front."""
    return Treatment.objects.filter(against_pests=True, state__in=Treatment.OPEN).order_by("started_on", "id")


def pest_work_of(piece_ids: Iterable[int]) -> Mapping[int, tuple[PestWork, ...]]:
    """The open pest work of each piece; a piece without any is missing from the answer. One or two queries."""
    found: dict[int, tuple[PestWork, ...]] = defaultdict(tuple)
    rows = list(open_pest_work().filter(piece__in=list(piece_ids)))
    for row, work in zip(rows, as_pest_works(rows), strict=True):
        found[row.piece_id] += (work,)
    return dict(found)


def as_pest_works(rows: Collection[Treatment]) -> list[PestWork]:
    """Rows for the calculation; the house's closed days are only read when a due day hangs on them."""
    counted = any(row.started_on and row.day_kind == Kind.WORKING.value for row in rows)
    closed = house.closed_days() if counted else frozenset()
    return [PestWork(row.what, row.started_on, row.days, row.day_kind, closed) for row in rows]


def kept_apart(piece_ids: Iterable[int]) -> dict[int, KeptApart]:
    """What keeps each piece where it is, by its pk; every asked piece has an answer. Two queries."""
    ids = list(piece_ids)
    work = pest_work_of(ids)
    closed = {
        piece: (due, reason)
        for piece, due, reason in Quarantine.objects.filter(piece__in=ids, released_on__isnull=True).values_list(
            "piece", "due_on", "reason"
        )
    }
    return {pk: KeptApart(work.get(pk, ()), *closed.get(pk, (None, ""))) for pk in ids}


def refuse_kept(pieces: Iterable[Piece], doing: str, *, field: str | None = None) -> None:
    """Raise WrongState when pest work or quarantine keeps one of the pieces from being `doing`; each is named."""
    rows = list(pieces)
    kept = kept_apart(piece.pk for piece in rows)
    said = [sentence for piece in rows if (sentence := kept[piece.pk].refusal(piece.number, doing))]
    if said:
        raise WrongState(_together(said), field=field)


def refuse_pest_work(piece: Piece, doing: str) -> None:
    """Raise WrongState when pest work of this piece is open."""
    sentence = pest_refusal(piece.number, pest_work_of([piece.pk]).get(piece.pk, ()), doing)
    if sentence:
        raise WrongState(sentence)


def _together(sentences: list[str]) -> str:
    more = len(sentences) - 3
    return " ".join([*sentences[:3], f"The same holds for {more} more." if more > 0 else ""]).strip()
