"""Everyone who handled a piece, and its dated sightings with the proof that no line was changed."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db.models import Count, Max, Min
from django.utils import timezone

from catalog.core import history
from catalog.core.models import HistoryLine
from catalog.desk.calc.custody import custody_words, is_by_hand, is_custody, is_sighting
from catalog.loans.models import LoanLine
from catalog.pieces.models import Piece
from catalog.storage.models import Move, Standing


@dataclass(slots=True)
class Handler:
    """A person as written in the lines: what they did and how often, on which days."""

    name: str
    did: list[str] = field(default_factory=list)
    first: datetime | None = None
    last: datetime | None = None

    def add(self, words: str, times: int, first: datetime, last: datetime) -> None:
        """Add one sort of act."""
        self.did.append(words if times == 1 else f"{words} ({times} times)")
        self.first = min(filter(None, (self.first, first)))
        self.last = max(filter(None, (self.last, last)))


@dataclass(frozen=True, slots=True)
class Away:
    """Somebody outside who took the piece with a loan."""

    taken_by: str
    to_whom: str
    loan: str
    out_on: date | None
    back_at: datetime | None


@dataclass(frozen=True, slots=True)
class Handled:
    """Everyone: who had it in hand, who moved the trunk it lay in, who took it away, who only wrote of it."""

    hands: list[Handler]
    carriers: list[Handler]
    away: list[Away]
    writers: list[Handler]

    @property
    def people(self) -> int:
        """How many had it in hand, in its trunk or outside."""
        return len({one.name for one in (*self.hands, *self.carriers)} | {one.taken_by for one in self.away})


def handled(piece: Piece) -> Handled:
    """Who handled the piece, from its lines, its loans and the moves of the trunks it lay in; five queries at most."""
    lines = HistoryLine.objects.filter(subject_kind="piece", subject_id=piece.number).order_by()
    found = lines.values("by_name", "verb").annotate(n=Count("id"), first=Min("happened"), last=Max("happened"))
    since = min((row["first"] for row in found), default=None)
    hands: dict[str, Handler] = {}
    writers: dict[str, Handler] = {}
    for row in sorted(found, key=lambda row: (row["first"], row["verb"])):
        side = hands if is_by_hand(row["verb"]) else writers
        name = row["by_name"]
        side.setdefault(name, Handler(name)).add(row["verb"], row["n"], row["first"], row["last"])
    only_wrote = [one for name, one in writers.items() if name not in hands]
    return Handled(_latest(hands.values()), _latest(_carriers(piece, since)), _away(piece), _latest(only_wrote))


def _latest(people: Iterable[Handler]) -> list[Handler]:
    return sorted(people, key=lambda one: (one.last is None, one.last), reverse=True)


def _away(piece: Piece) -> list[Away]:
    lines = LoanLine.objects.filter(piece=piece).exclude(loan__taken_by="").select_related("loan")
    never = (LoanLine.State.TO_PULL, LoanLine.State.LEFT_BEHIND)
    return [
        Away(line.loan.taken_by, line.loan.to_whom, line.loan.reference, line.loan.out_on, line.back_at)
        for line in lines.exclude(state__in=never).order_by("-loan__out_on", "-pk")
    ]


def _carriers(piece: Piece, since: datetime | None) -> list[Handler]:
    """Who moved a trunk while the piece lay in it; a trunk inside another one is not followed further."""
    stays = _stays(piece, since)
    rows = Move.objects.filter(container__in=list(stays)).select_related("container") if stays else []
    found: dict[tuple[str, str], list[datetime]] = defaultdict(list)
    for row in rows:
        if row.container is not None and _lay_in_it(stays[row.container.pk], row.happened):
            found[row.by_name, row.container.code].append(row.happened)
    people: dict[str, Handler] = {}
    for (name, code), when in found.items():
        people.setdefault(name, Handler(name)).add(f"moved {code}", len(when), min(when), max(when))
    return list(people.values())


def _stays(piece: Piece, since: datetime | None) -> dict[int, list[tuple[datetime, datetime | None]]]:
    """From when to when the piece lay in each container; `since`: when the archive first wrote of it."""
    moves = list(Move.objects.filter(piece=piece).select_related("from_place", "to_place").order_by("happened", "pk"))
    if moves:
        first = moves[0].from_place
    else:
        standing = Standing.objects.filter(piece=piece).select_related("place").first()
        first = standing.place if standing else None
    places = [(since, first), *((move.happened, move.to_place) for move in moves)]
    ends: list[datetime | None] = [*(move.happened for move in moves), None]
    stays: dict[int, list[tuple[datetime, datetime | None]]] = defaultdict(list)
    for (start, place), end in zip(places, ends, strict=True):
        if place is not None and place.is_container and start is not None:
            stays[place.pk].append((start, end))
    return stays


def _lay_in_it(stays: list[tuple[datetime, datetime | None]], when: datetime) -> bool:
    return any(start <= when and (end is None or when < end) for start, end in stays)


@dataclass(frozen=True, slots=True)
class Sighting:
    """One line of a custody statement."""

    happened: datetime
    recorded: datetime
    by: str
    words: str
    reason: str
    seen: bool

    @property
    def late(self) -> str:
        """When it was written down, if that was another day."""
        written = timezone.localtime(self.recorded)
        return "" if written.date() == timezone.localtime(self.happened).date() else f"{written:%-d %b %Y}"


@dataclass(frozen=True, slots=True)
class Custody:
    """The dated sightings of a piece, the newest last; how many lines its chain has, its head, and whether it holds."""

    sightings: list[Sighting]
    lines: int
    head: str
    broken: int | None

    @property
    def last_seen(self) -> Sighting | None:
        """The newest of those that somebody saw."""
        return next((one for one in reversed(self.sightings) if one.seen), None)


def custody_of(piece: Piece) -> Custody:
    """The sightings as the piece's history tells them, and the whole chain worked out again. One query."""
    return custodies_of([piece])[piece.number]


def custodies_of(pieces: Iterable[Piece]) -> dict[str, Custody]:
    """The same of many pieces, by number. One query, however many."""
    chains: dict[str, list[HistoryLine]] = {piece.number: [] for piece in pieces}
    rows = HistoryLine.objects.filter(subject_kind="piece", subject_id__in=list(chains))
    for line in rows.order_by("subject_id", "seq"):
        chains[line.subject_id].append(line)
    return {number: _custody(lines) for number, lines in chains.items()}


def _custody(lines: list[HistoryLine]) -> Custody:
    told = [line for line in lines if is_custody(line.verb)]
    sightings = [
        Sighting(
            line.happened,
            line.recorded,
            line.by_name,
            custody_words(line.verb, line.after),
            line.reason,
            is_sighting(line.verb, line.after),
        )
        for line in sorted(told, key=lambda line: (line.happened, line.seq))
    ]
    head = lines[-1].hash if lines else history.GENESIS
    return Custody(sightings, len(lines), head, history.broken_line(lines))
