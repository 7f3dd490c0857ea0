"""Where to look first for a container that is not found, from the rows: what moved with it, what reads alike.

The windows and their order are common practice, no source.
"""

import re
from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Q
from django.db.models.functions import Upper

from catalog.pieces.calc.values import money, money_words, sums
from catalog.pieces.models import Piece
from catalog.pieces.value_queries import newest_values
from catalog.storage.calc.misread import likely_readings
from catalog.storage.models import MissingFile, Move, Place, Standing

# Whatever moved within these days of the loss may have gone the same way; under the same reason, within the longer.
SAME_DAYS = timedelta(days=3)
SAME_REASON_DAYS = timedelta(days=60)
MOST_PLACES = 8
MOST_MOVES = 500


@dataclass(frozen=True, slots=True)
class Look:
    """A place to look at, and why."""

    place: Place
    why: str
    before: bool = False


@dataclass(frozen=True, slots=True)
class Search:
    """What is known of a lost container: the last sure sighting, what is unknown since, where to look first."""

    last: Move | None
    file: MissingFile | None
    looks: list[Look]
    alike: list[Place]
    read_as: list[str]

    @property
    def alongside(self) -> bool:
        """Whether anything else is recorded that moved with it or for its reason."""
        return any(not look.before for look in self.looks)


def search_for(container: Place, file: MissingFile | None) -> Search:
    """The search list of a lost container. A fixed number of queries."""
    moves = list(container.moves.select_related("from_place", "to_place"))
    # Every move is somebody's hands on it; that it was missed is told in its file and is no move.
    last = moves[0] if moves else None
    alike, read_as = _alike(container.code)
    looks = [*_moved_alongside(container, last), *_stood_before(moves)]
    shown: dict[int, Look] = {}
    for look in looks:
        shown.setdefault(look.place.pk, look)
    return Search(last, file, list(shown.values())[:MOST_PLACES], alike, read_as)


def _moved_alongside(container: Place, last: Move | None) -> list[Look]:
    """Where other things went about the same day, or for the same reason, the most first."""
    if last is None:
        return []
    about = Q(happened__range=_around(last.happened, SAME_DAYS))
    cause = cause_of(last.reason)
    if cause:
        about |= Q(happened__range=_around(last.happened, SAME_REASON_DAYS), reason__icontains=cause)
    others = Move.objects.filter(about, to_place__isnull=False).exclude(container=container)
    others = others.exclude(to_place=last.from_place).exclude(piece__standing__place=container)
    went: dict[int, list[Move]] = defaultdict(list)
    for move in others.select_related("to_place").order_by("-happened", "-id")[:MOST_MOVES]:
        went[move.to_place_id or 0].append(move)
    ranked = sorted(went.values(), key=lambda same: -len(same))
    return [Look(same[0].to_place, _why(same, cause)) for same in ranked if same[0].to_place]


def _why(same: list[Move], cause: str) -> str:
    things = "1 thing" if len(same) == 1 else f"{len(same)} things"
    days = {f"{move.happened:%-d %b %Y}" for move in same}
    when = days.pop() if len(days) == 1 else f"{min(m.happened for m in same):%-d %b %Y} and later"
    for_cause = f" ({cause})" if cause and any(cause.lower() in move.reason.lower() for move in same) else ""
    return f"{things} went there on {when}{for_cause}"


def _stood_before(moves: list[Move]) -> list[Look]:
    """The places where it stood before, the newest first."""
    return [
        Look(move.to_place, f"it stood there from {move.happened:%-d %b %Y}", before=True)
        for move in moves
        if move.to_place is not None
    ]


def _alike(code: str) -> tuple[list[Place], list[str]]:
    """Containers whose code reads like this one, and readings that no place has."""
    near = likely_readings(code)
    rows = Place.objects.annotate(upper=Upper("code")).filter(upper__in=near)
    found = {place.code.upper(): place for place in rows if place.is_container}
    return [found[text] for text in near if text in found], [text for text in near if text not in found]


def cause_of(reason: str) -> str:
    """The first clause of a reason: "roof leak: taken out, not written" is "roof leak"."""
    return re.split(r"[:;,.(]", reason, maxsplit=1)[0].strip()


def _around(moment: datetime, days: timedelta) -> tuple[Any, Any]:
    return moment - days, moment + days


def contents_with_value(standings: list[Standing]) -> dict[str, Any]:
    """What lies in it, each with its newest value in words, the sum, and how many are not valued. One query."""
    values = newest_values(Piece.objects.filter(pk__in=[one.piece_id for one in standings]))
    by_piece = {value.piece_id: value for value in values}
    words = {pk: money(value.currency, value.amount) for pk, value in by_piece.items()}
    return {
        "contents": [(one, words.get(one.piece_id, "")) for one in standings],
        "worth": money_words(sums((value.currency, value.amount) for value in by_piece.values())),
        "unvalued": len(standings) - len(by_piece),
    }
