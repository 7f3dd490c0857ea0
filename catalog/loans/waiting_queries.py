"""Who waits for the same pieces and days: the living pencils in their order, and what was ahead and is gone."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from catalog.core import clock
from catalog.loans import queries
from catalog.loans.calc.waiting import Waiting, ahead_of, behind, ordinal, rank
from catalog.loans.models import Hold, HoldPiece


@dataclass(frozen=True, slots=True)
class InLine:
    """One pencil of a waiting list as the page shows it."""

    rank: int
    hold: str
    for_whom: str
    lapses_on: date | None
    mine: bool

    @property
    def word(self) -> str:
        """ "first pencil", "second pencil"."""
        return f"{ordinal(self.rank)} pencil"


def as_waiting(hold: Hold, pieces: Iterable[int]) -> Waiting:
    """A hold with its pieces as a value."""
    return Waiting(
        hold.pk,
        hold.reference,
        hold.for_whom,
        hold.made_at,
        hold.starts,
        hold.ends,
        frozenset(pieces),
        hold.lapses_on,
        hold.call_id,
    )


def pencils_near(piece_ids: Collection[int], first: date, last: date) -> list[Waiting]:
    """Every living pencil that wants one of the pieces on one of the days, with all its pieces; two queries."""
    pencils = queries.living(Hold.objects.filter(strength=Hold.Strength.PENCIL), clock.today())
    near = pencils.filter(starts__lte=last, ends__gte=first)
    wants = HoldPiece.objects.filter(piece_id__in=piece_ids, released_on=None)
    return _with_pieces(list(near.filter(pk__in=wants.values("hold_id"))))


def _with_pieces(holds: Collection[Hold]) -> list[Waiting]:
    pieces: dict[int, list[int]] = defaultdict(list)
    rows = HoldPiece.objects.filter(hold__in=[hold.pk for hold in holds], released_on=None)
    for hold_id, piece_id in rows.values_list("hold_id", "piece_id"):
        pieces[hold_id].append(piece_id)
    return [as_waiting(hold, pieces[hold.pk]) for hold in holds]


def ranks_of(holds: Iterable[Hold]) -> dict[int, int]:
    """The place in line of each living pencil among the holds that are handed in; one query."""
    line = _with_pieces([hold for hold in holds if hold.strength == Hold.Strength.PENCIL])
    return {one.key: rank(one, line) for one in line}


def line_of(hold: Hold, piece_ids: Collection[int]) -> list[InLine]:
    """The waiting list for the pieces and days of a hold, itself in it when it is a pencil; empty when nobody waits."""
    mine = as_waiting(hold, piece_ids)
    near = pencils_near(piece_ids, hold.starts, hold.ends)
    if hold.strength == Hold.Strength.FIRM:
        rows = sorted((one for one in near if one.meets(mine)), key=lambda one: (one.made, one.key))
    else:
        rows = [*ahead_of(mine, near), mine, *behind(mine, near)]
        rows = rows if len(rows) > 1 else []
    return [InLine(n, one.hold, one.for_whom, one.lapses_on, one.key == hold.pk) for n, one in enumerate(rows, 1)]


def gone_ahead(hold: Hold, piece_ids: Collection[int]) -> list[str]:
    """What was before this pencil and is no more: each with why, so that whoever waits sees that it moved up."""
    today = clock.today()
    lapsed = Q(state=Hold.State.LAPSED) | Q(strength=Hold.Strength.PENCIL, lapses_on__lte=today)
    over = Hold.objects.filter(Q(state=Hold.State.RELEASED) | lapsed, starts__lte=hold.ends, ends__gte=hold.starts)
    older = Q(made_at__lt=hold.made_at) | Q(made_at=hold.made_at, pk__lt=hold.pk)
    before = over.filter(older, pieces__piece_id__in=piece_ids).distinct()
    if hold.call_id is not None:
        before = before.exclude(call=hold.call_id)
    return [
        f"{one.reference} for {one.for_whom} "
        + (
            "was released"
            if one.state == Hold.State.RELEASED or one.lapses_on is None
            else f"lapsed on {one.lapses_on:%-d %b %Y}"
        )
        for one in before.order_by("made_at")[:5]
    ]
