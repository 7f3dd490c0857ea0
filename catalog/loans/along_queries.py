"""Holds along time: for a piece, a set or a role, who has what on which days, as rows to draw and to read."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Q
from django.urls import reverse

from catalog.loans import queries
from catalog.loans.calc.windows import Span, overlap
from catalog.loans.hold_queries import pieces_named
from catalog.loans.models import Hold
from catalog.loans.queries import HeldSpan
from catalog.pieces.models import Piece, Role

# Nobody reads more rows than this from one drawing, nor more days.
MOST_PIECES, MOST_DAYS = 60, 400
LEAST_DAYS = 60


@dataclass(frozen=True, slots=True)
class Along:
    """What is drawn: the pieces, the days, the rows, and how many pieces are free throughout."""

    what: str
    pieces: Sequence[Piece]
    left_out: int
    first: date
    last: date
    bars: list[dict[str, Any]]
    spans: list[HeldSpan]
    free_n: int
    least_free: int


def pieces_of(text: str) -> tuple[str, list[Piece]]:
    """A heading, and the pieces behind a number, a set code, or a role's code or name; ("", []) when it is nothing."""
    found, unknown = pieces_named(text)
    if found and not unknown:
        return (text.strip().upper(), found)
    asked = " ".join(text.split())
    roles = list(Role.objects.select_related("production").filter(Q(code__iexact=asked) | Q(name__iexact=asked)))
    if not roles:
        return "", []
    rows = Piece.objects.filter(role__in=roles).order_by("slot__order", "number")
    return " and ".join(f"{role.name} of {role.production}" for role in roles), list(rows)


def along(what: str, pieces: Sequence[Piece], first: date, last: date | None) -> Along:
    """Holds of the pieces from the first day on. `last` None: to the end of the last hold, within reason."""
    shown = pieces[:MOST_PIECES]
    spans = queries.holds_of(shown, first, last or date.max)
    if last is None:
        ends = [min(span.last, first + timedelta(days=MOST_DAYS)) for span in spans]
        last = max([first + timedelta(days=LEAST_DAYS), *ends])
    by_piece: dict[int, list[HeldSpan]] = defaultdict(list)
    for span in spans:
        by_piece[span.piece_id].append(span)
    bars = [row for piece in shown for row in _rows(piece, by_piece[piece.pk])]
    firm = [span for span in spans if span.strength == Hold.Strength.FIRM]
    taken = {span.piece_id for span in firm}
    busiest = most_at_once([(span.first, span.last) for span in firm], (first, last))
    free_n, least = len(shown) - len(taken), len(shown) - busiest
    return Along(what, shown, len(pieces) - len(shown), first, last, bars, spans, free_n, least)


def _rows(piece: Piece, spans: Sequence[HeldSpan]) -> list[dict[str, Any]]:
    """The piece with its firm holds, which never overlap; each pencil below it, for a pencil may lie over anything."""
    firm = [band for span in spans if span.strength == Hold.Strength.FIRM for band in queries.bands(span)]
    own = {"name": piece.number, "url": reverse("desk:piece", args=[piece.number]), "bands": firm}
    pencils = [span for span in spans if span.strength == Hold.Strength.PENCIL]
    return [own, *({**row, "name": f"pencil {row['name']}"} for row in queries.bars(pencils))]


def most_at_once(spans: Sequence[Span], within: Span) -> int:
    """On the busiest of the days, how many of the spans take it. A piece has one firm hold a day: these are pieces."""
    marks: dict[date, int] = defaultdict(int)
    for span in spans:
        if both := overlap(span, within):
            marks[both[0]] += 1
            if both[1] < date.max:
                marks[both[1] + timedelta(days=1)] -= 1
    most = now = 0
    for day in sorted(marks):
        now += marks[day]
        most = max(most, now)
    return most
