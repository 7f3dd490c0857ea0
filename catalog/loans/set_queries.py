"""Reads about a loan on set: what each performer has, what is in, what is missing, and what to mind of each piece."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from django.http import Http404

from catalog.care.calc.set_cautions import SetCaution, set_cautions_for
from catalog.care.calc.wear import WearState
from catalog.care.queries import hazards_of, wear_state
from catalog.core.errors import Refused
from catalog.loans import loan_queries
from catalog.loans.calc.sign_out import against_sign_out
from catalog.loans.models import Loan, LoanLine, PartReturn, SignOut, Wearer
from catalog.pieces.calc.kinds import KINDS

_S = LoanLine.State
AT_SET = (_S.OUT, _S.ON_SET)
SHOWN = (*AT_SET, _S.NOT_BACK)


@dataclass(slots=True)
class PerformerRow:
    """A performer's pieces of a loan; None: what is nobody's."""

    wearer: Wearer | None
    lines: list[LoanLine] = field(default_factory=list)

    @property
    def on_set(self) -> int:
        """How many pieces the performer has now."""
        return self._count(_S.ON_SET)

    @property
    def in_hand(self) -> int:
        """How many of the performer's pieces are with the costumers."""
        return self._count(_S.OUT)

    @property
    def missing(self) -> int:
        """How many of them did not come back."""
        return self._count(_S.NOT_BACK)

    def _count(self, state: str) -> int:
        return sum(line.state == state for line in self.lines)


@dataclass(frozen=True, slots=True)
class SetLine:
    """A piece as it is given out: may it go, under which conditions, and what to mind. `against`: why it stays in."""

    line: LoanLine
    since: datetime | None
    against: str
    conditions: tuple[str, ...]
    cautions: tuple[SetCaution, ...]
    minutes_limit: int | None
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Performer:
    """One performer's screen. `others`: what is with the set and nobody's."""

    wearer: Wearer
    lines: tuple[SetLine, ...]
    others: tuple[LoanLine, ...]

    def of(self, *states: str) -> list[SetLine]:
        """The lines in these states."""
        return [one for one in self.lines if one.line.state in states]

    @property
    def has(self) -> list[SetLine]:
        """What the performer has now."""
        return self.of(_S.ON_SET)

    @property
    def is_in(self) -> list[SetLine]:
        """What is with the costumers."""
        return self.of(_S.OUT)

    @property
    def missing(self) -> list[SetLine]:
        """What did not come back."""
        return self.of(_S.NOT_BACK)

    @property
    def weight_g(self) -> int:
        """What is on the performer weighs together, as far as it was weighed."""
        return sum(one.line.piece.weight_g or 0 for one in self.has)

    @property
    def not_weighed(self) -> int:
        """How many pieces on the performer nobody has weighed."""
        return sum(one.line.piece.weight_g is None for one in self.has)


def performers(loan: Loan) -> list[PerformerRow]:
    """One row a performer of the call, and one for what is nobody's. Two queries."""
    rows = {wearer.pk: PerformerRow(wearer) for wearer in _wearers(loan)}
    nobodys = PerformerRow(None)
    for line in _lines(loan):
        rows.get(line.wearer_id or 0, nobodys).lines.append(line)
    return [*rows.values(), *([nobodys] if nobodys.lines else [])]


def performer(loan: Loan, wearer: Wearer) -> Performer:
    """A performer's screen, in a fixed number of queries."""
    lines = _lines(loan)
    mine = [line for line in lines if line.wearer_id == wearer.pk]
    others = tuple(line for line in lines if line.wearer_id is None and line.state == _S.OUT)
    return Performer(wearer, tuple(set_lines(mine)), others)


def set_lines(lines: Iterable[LoanLine]) -> list[SetLine]:
    """What one must know of each piece at the set; nine queries, however many."""
    rows = list(lines)
    pieces = [line.piece for line in rows]
    wear, hazards, parts = wear_state(pieces), hazards_of(pieces), _parts_of(rows)
    open_outs = SignOut.objects.filter(line__in=[line.pk for line in rows], in_at=None)
    since = dict(open_outs.values_list("line_id", "out_at"))
    return [_set_line(line, wear[line.piece_id], hazards[line.piece_id], parts, since) for line in rows]


def line_of_scan(loan: Loan, code: str) -> LoanLine:
    """The loan's line of what was scanned. Raises Refused with what it is instead."""
    piece = loan_queries.scanned_piece(code)
    line = loan.lines.select_related("loan", "piece__production", "wearer").filter(piece=piece).first()
    if line is None:
        raise Refused(loan_queries.not_on_list_sentence(loan, piece), field="code")
    return line


def wearer_of(loan: Loan, number: str) -> Wearer:
    """The performer of this number on the loan's call. Raises Refused when the call has none."""
    found = loan.call.wearers.filter(number__iexact=number.strip()).first() if loan.call else None
    if found is None:
        raise Refused(f"There is no performer {number[:20]} on the list of this loan's call.", field="wearer")
    return found


def wearer_or_404(loan: Loan, number: str) -> Wearer:
    """The performer of an address."""
    try:
        return wearer_of(loan, number)
    except Refused as nobody:
        raise Http404(nobody.sentence) from nobody


def _wearers(loan: Loan) -> list[Wearer]:
    return list(loan.call.wearers.order_by("number")) if loan.call else []


def _lines(loan: Loan) -> list[LoanLine]:
    rows = loan.lines.filter(state__in=SHOWN).select_related("piece__production", "wearer")
    return list(rows.order_by("order", "piece__number"))


def _parts_of(lines: list[LoanLine]) -> Mapping[int, list[str]]:
    found: dict[int, list[str]] = {}
    rows = PartReturn.objects.filter(line__in=[line.pk for line in lines]).order_by("part__letter")
    for line_id, letter, name in rows.values_list("line_id", "part__letter", "part__name"):
        found.setdefault(line_id, []).append(f"{letter} {name}")
    return found


def _set_line(
    line: LoanLine,
    wear: WearState,
    hazards: Mapping[str, str],
    parts: Mapping[int, list[str]],
    since: Mapping[int, datetime],
) -> SetLine:
    return SetLine(
        line,
        since.get(line.pk),
        against_sign_out(line.piece.number, wear, worn=KINDS[line.piece.kind].worn),
        wear.conditions,
        set_cautions_for(hazards, kind=line.piece.kind),
        wear.decision.minutes_limit if wear.decision else None,
        tuple(parts.get(line.pk, ())),
    )
