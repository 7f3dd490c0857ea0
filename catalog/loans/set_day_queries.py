"""One day on set as it is printed and counted: who had what from when to when, and what is still out."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q
from django.utils import timezone

from catalog.core import clock
from catalog.loans.clock_queries import damage_of
from catalog.loans.models import Loan, LoanLine, SetDay, SignOut, Wearer
from catalog.loans.set_queries import SHOWN, set_lines
from catalog.storage.calc.walking import natural_key

_S = LoanLine.State
_NAMED = 4


@dataclass(frozen=True, slots=True)
class OutIn:
    """Once out and in again, with the performer's number."""

    performer: str
    out_at: datetime
    in_at: datetime | None


@dataclass(frozen=True, slots=True)
class SheetLine:
    """A piece on the sign-out sheet; without `outs` a line to be filled in by hand."""

    number: str
    name: str
    parts: tuple[str, ...]
    minutes_limit: int | None
    outs: tuple[OutIn, ...]
    missing: bool


@dataclass(frozen=True, slots=True)
class SheetPerformer:
    """A performer's lines. The name is for those who may see who wears what."""

    number: str
    name: str
    lines: tuple[SheetLine, ...]


@dataclass(frozen=True, slots=True)
class SignOutSheet:
    """Who had what on a day, and what is there to be given out."""

    loan: Loan
    day: date
    performers: tuple[SheetPerformer, ...]
    nobodys: tuple[SheetLine, ...]


def sign_out_sheet(loan: Loan, day: date) -> SignOutSheet:
    """The sheet of one day, in a fixed number of queries. A piece stands with the performer it is meant for."""
    there = loan.lines.filter(Q(state__in=SHOWN) | Q(sign_outs__out_at__date=day)).distinct()
    lines = list(there.select_related("piece__production", "wearer").order_by("order", "piece__number"))
    wearers: list[Wearer] = list(loan.call.wearers.order_by("number")) if loan.call else []
    known = {one.line.pk: one for one in set_lines(lines)}
    outs: dict[int, list[OutIn]] = {}
    signed = SignOut.objects.filter(line__in=list(known), out_at__date=day).select_related("wearer")
    for one in signed.order_by("out_at"):
        outs.setdefault(one.line_id, []).append(OutIn(one.wearer.number, one.out_at, one.in_at))

    def sheet(line: LoanLine) -> SheetLine:
        facts = known[line.pk]
        told = tuple(outs.get(line.pk, ()))
        missing = line.state == _S.NOT_BACK
        return SheetLine(line.piece.number, line.piece.name, facts.parts, facts.minutes_limit, told, missing)

    def of(wearer_id: int | None) -> tuple[SheetLine, ...]:
        return tuple(sheet(line) for line in lines if line.wearer_id == wearer_id)

    named = tuple(SheetPerformer(wearer.number, wearer.name, of(wearer.pk)) for wearer in wearers)
    return SignOutSheet(loan, day, named, of(None))


@dataclass(frozen=True, slots=True)
class StillOut:
    """A piece that did not come in, and with whom it went out. The name is for those who may see who wears what."""

    line: LoanLine
    wearer: Wearer | None
    out_at: datetime | None
    damage: tuple[str, ...] = ()

    @property
    def performer(self) -> str:
        """The performer's number, "" for nobody's."""
        return self.wearer.number if self.wearer else ""

    @property
    def name(self) -> str:
        """The performer's name, "" when it was deleted."""
        return self.wearer.name if self.wearer else ""

    @property
    def number(self) -> str:
        """The number of the piece."""
        return self.line.piece.number

    @property
    def piece_name(self) -> str:
        """What the piece is."""
        return self.line.piece.name

    @property
    def is_lost(self) -> bool:
        """It was said meanwhile that it did not come back."""
        return self.line.state == _S.NOT_BACK

    @property
    def is_in(self) -> bool:
        """It came in after the day was closed."""
        return self.line.state not in {_S.ON_SET, _S.NOT_BACK}


@dataclass(frozen=True, slots=True)
class CountBack:
    """The count of one day: what is still out, by performer and piece, as it stands at `as_at`."""

    loan: Loan
    day: date
    as_at: datetime
    open: tuple[StillOut, ...]
    signed_out: int
    came_in: int
    closed: SetDay | None

    def by_performer(self) -> dict[str, list[StillOut]]:
        """What is open of each performer's number, "" for nobody's."""
        found: dict[str, list[StillOut]] = {}
        for one in self.open:
            found.setdefault(one.performer, []).append(one)
        return found


def count_back(loan: Loan, day: date) -> CountBack:
    """What went out on or before the day and did not come in; of a closed day, what was open then. Five queries."""
    closed = SetDay.objects.select_related("closed_by").filter(loan=loan, day=day).first()
    rows = _open_then(closed) if closed is not None else _open_now(loan, day)
    damage = damage_of(one.line for one in rows)
    told = [StillOut(r.line, r.wearer, r.out_at, tuple(n.what for n in damage.get(r.line.pk, ()))) for r in rows]
    of_day = SignOut.objects.filter(line__loan=loan)
    out_that_day = of_day.filter(out_at__date=day).values("line").distinct().count()
    in_that_day = of_day.filter(in_at__date=day).values("line").distinct().count()
    at = closed.closed_at if closed is not None else clock.now()
    ordered = sorted(told, key=lambda one: (one.performer == "", natural_key(one.performer), natural_key(one.number)))
    return CountBack(loan, day, at, tuple(ordered), out_that_day, in_that_day, closed)


def _open_then(closed: SetDay) -> list[StillOut]:
    rows = closed.open.select_related("line__piece", "wearer")
    return [StillOut(row.line, row.wearer, row.out_at) for row in rows]


def _open_now(loan: Loan, day: date) -> list[StillOut]:
    """On somebody now, and out since that day or before; also what went out before moments were kept."""
    lines = loan.lines.filter(state=_S.ON_SET).select_related("piece", "wearer")
    outs = dict(SignOut.objects.filter(line__loan=loan, in_at=None).values_list("line_id", "out_at"))
    rows = [StillOut(line, line.wearer, outs.get(line.pk)) for line in lines]
    return [row for row in rows if row.out_at is None or timezone.localdate(row.out_at) <= day]


def in_words(count: CountBack) -> str:
    """What is still out, in one sentence: "2 pieces are still out: A-1 with performer 7, A-2 with performer 9." """
    named = [f"{one.number} with {f'performer {one.performer}' if one.performer else 'nobody'}" for one in count.open]
    more = f" and {len(named) - _NAMED} more" if len(named) > _NAMED else ""
    is_ = "1 piece is" if len(named) == 1 else f"{len(named)} pieces are"
    return f"{is_} still out: {', '.join(named[:_NAMED])}{more}." if named else "Nothing is still out."
