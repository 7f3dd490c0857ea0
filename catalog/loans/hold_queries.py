"""Reads about holds for pages: which stand, which clash, and every way out of a clash."""

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from itertools import combinations
from urllib.parse import urlencode

from django.db.models import Count, Q, QuerySet
from django.db.models.functions import Lower

from catalog.core import clock
from catalog.loans import queries, way_out_queries
from catalog.loans.calc.notice import Notice
from catalog.loans.calc.windows import Span, length, overlap
from catalog.loans.holdable_queries import to_be_worn
from catalog.loans.models import Call, Hold, HoldPiece
from catalog.loans.queries import HeldSpan
from catalog.pieces.models import OutfitSet, Piece
from catalog.storage.models import State


@dataclass(slots=True)
class Overlap:
    """Another hold that wants some of the same pieces on some of the same days."""

    hold: str
    for_whom: str
    strength: str
    first: date
    last: date
    numbers: list[str]
    use: Span
    whole: Span
    asked: Span
    asked_use: Span | None = None
    earlier: bool = False
    own: bool = False
    ways_out: list[str] = field(default_factory=list)

    @property
    def firm(self) -> bool:
        """Whether the other hold has the pieces for sure."""
        return self.strength == Hold.Strength.FIRM

    @property
    def days(self) -> int:
        """How many days both want, buffers included."""
        return length((self.first, self.last))

    @property
    def release_query(self) -> str:
        """The address of a partial release of just these pieces, behind the question mark."""
        return urlencode({"pieces": ",".join(self.numbers)})

    @property
    def in_use(self) -> Span | None:
        """The days on which both would use the pieces; None when only buffers meet."""
        return overlap(self.asked_use, self.use) if self.asked_use else None

    @property
    def sentence(self) -> str:
        """For whom the other hold is, what it takes and on which days; the page puts its reference before it."""
        some = ", ".join(self.numbers[:4]) + (f" and {len(self.numbers) - 4} more" if len(self.numbers) > 4 else "")
        days = f"{self.first:%-d %b %Y}"
        if self.last != self.first:
            days += f" to {self.last:%-d %b %Y}"
        does = "has" if self.firm else "has pencilled"
        return f"for {self.for_whom} ({self.strength}) {does} {some} on {days}, buffers included."


def standing_holds(today: date) -> "QuerySet[Hold]":
    """Firm holds and living pencils that are not over, soonest first: how many pieces each has and lacks."""
    holds = queries.living(Hold.objects.all(), today).filter(ends__gte=today)
    kept = Q(pieces__released_on=None)
    lost = kept & Q(pieces__piece__standing__state=State.NOT_FOUND)
    counted = holds.annotate(pieces_n=Count("pieces", filter=kept), missing_n=Count("pieces", filter=lost))
    return counted.select_related("call").order_by("starts", "reference")


def past_holds(today: date) -> "QuerySet[Hold]":
    """Released, lapsed and past holds, newest first."""
    standing = queries.living(Hold.objects.all(), today).filter(ends__gte=today)
    return Hold.objects.exclude(pk__in=standing.values("pk")).order_by("-starts", "reference")


def clashes_among(holds: Iterable[Hold]) -> dict[int, list[str]]:
    """For each hold the references of the others that want a same piece on a same day; one query.

    A pencil and a firm hold of one call are no clash: the firm one is what became of the pencil.
    """
    by_id = {hold.pk: hold for hold in holds}
    wanted: dict[int, list[Hold]] = defaultdict(list)
    rows = HoldPiece.objects.filter(hold_id__in=by_id, released_on=None).values_list("piece_id", "hold_id")
    for piece_id, hold_id in rows:
        wanted[piece_id].append(by_id[hold_id])
    pairs = {
        (one.pk, other.pk)
        for same in wanted.values()
        for one, other in combinations(same, 2)
        if one.starts <= other.ends and other.starts <= one.ends and not _same_call(one.call_id, other.call_id)
    }
    found: dict[int, list[str]] = defaultdict(list)
    for one_id, other_id in sorted(pairs):
        found[one_id].append(by_id[other_id].reference)
        found[other_id].append(by_id[one_id].reference)
    return found


def pieces_in(hold: Hold) -> list[HoldPiece]:
    """The hold's pieces by number, the released ones too."""
    return list(hold.pieces.select_related("piece").order_by("piece__number"))


def overlaps_of(hold: Hold, rows: Iterable[HoldPiece]) -> list[Overlap]:
    """The holds that clash with this one, firm ones first, each with its ways out."""
    ids = [row.piece_id for row in rows if row.released_on is None]
    return overlaps(ids, hold.starts, hold.ends, mine=hold, worn=to_be_worn(hold.purpose, hold.call))


def overlaps(
    piece_ids: Iterable[int],
    first: date,
    last: date,
    *,
    mine: Hold | None = None,
    call: Call | None = None,
    worn: bool = True,
    use: Span | None = None,
) -> list[Overlap]:
    """The holds that have any of the pieces on the days, each with its ways out. The call's own pencils are none."""
    ids = list(piece_ids)
    asking = mine.call if mine is not None else call
    own, load_on = (asking.pk, asking.load_on) if asking is not None else (None, mine.use_from if mine else None)
    every = queries.holds_of(ids, min(first, clock.today()), date.max, ignoring=mine)
    # A hold yet to be made may run into its call's own firm hold; holds that stand are no clash within a call.
    every = [s for s in every if not _same_call(own, s.call_id) or (mine is None and s.strength == Hold.Strength.FIRM)]
    spans = [span for span in every if overlap((span.first, span.last), (first, last))]
    if not spans:
        return []
    made = dict(Hold.objects.filter(reference__in={span.hold for span in spans}).values_list("reference", "made_at"))
    ways = way_out_queries.ways_for(ids, (first, last), spans, every, worn=worn)
    grouped: dict[str, list[HeldSpan]] = defaultdict(list)
    for span in spans:
        grouped[span.hold].append(span)
    found = []
    for reference, same in grouped.items():
        clash = Overlap(
            hold=reference,
            for_whom=same[0].for_whom,
            strength=same[0].strength,
            first=max(first, min(span.first for span in same)),
            last=min(last, max(span.last for span in same)),
            numbers=[span.number for span in same],
            use=(same[0].use_from, same[0].use_to),
            whole=(min(span.first for span in same), max(span.last for span in same)),
            asked=(first, last),
            asked_use=(mine.use_from, mine.use_to) if mine is not None else use,
            earlier=mine is None or mine.made_at is None or made[reference] < mine.made_at,
            own=_same_call(own, same[0].call_id),
        )
        when = "the truck loads" if asking is not None else "the days begin"
        notice = Notice(same[0].notice_days, load_on or first, first, when)
        clash.ways_out = ways.out_of(same, notice, clock.today())
        if clash.asked_use and clash.in_use is None:
            clash.ways_out.append("Only buffers meet: with fewer days for prep or quarantine both jobs fit.")
        if clash.own:
            clash.ways_out = ["It is this call's own hold: what it has need not be held again."]
        found.append(clash)
    return sorted(found, key=lambda one: (not one.firm, not one.earlier, one.first))


def _same_call(one: int | None, other: int | None) -> bool:
    return one is not None and one == other


def pieces_named(text: str) -> tuple[list[Piece], list[str]]:
    """The pieces behind numbers and set codes, each once in the order typed, and the words that name nothing.

    A number may have blanks in it; so a line is tried whole first, and then word by word.
    """
    lines = [line.strip() for line in re.split(r"[,;\n\r\t]+", text) if line.strip()]
    known = _look_up(lines)
    known |= _look_up([word for line in lines if line.casefold() not in known for word in line.split()])
    tokens = [token for line in lines for token in ([line] if line.casefold() in known else line.split())]
    unknown = [token for token in dict.fromkeys(tokens) if token.casefold() not in known]
    found = {piece.pk: piece for token in tokens for piece in known.get(token.casefold(), ())}
    return list(found.values()), unknown


def _look_up(tokens: Iterable[str]) -> dict[str, list[Piece]]:
    keys = {token.casefold() for token in tokens}
    if not keys:
        return {}
    found: dict[str, list[Piece]] = {}
    for outfit in OutfitSet.objects.annotate(low=Lower("code")).filter(low__in=keys).prefetch_related("pieces"):
        found[outfit.code.casefold()] = sorted(outfit.pieces.all(), key=lambda piece: piece.number)
    for piece in Piece.objects.annotate(low=Lower("number")).filter(low__in=keys):
        found[piece.number.casefold()] = [piece]
    return found
