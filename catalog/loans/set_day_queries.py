"""One day on set as it is printed and counted: who had what from when to when."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q

from catalog.loans.models import Loan, LoanLine, SignOut, Wearer
from catalog.loans.set_queries import SHOWN, set_lines

_S = LoanLine.State


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
