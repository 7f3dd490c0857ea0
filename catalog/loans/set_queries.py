"""Reads about a loan on set: what each performer has, what is in, what is missing, and what to mind of each piece."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.http import Http404

from catalog.care.calc.set_cautions import SetCaution, set_cautions_for
from catalog.care.calc.wear import WearState
from catalog.care.queries import hazards_of, wear_state
from catalog.core.errors import Refused
from catalog.loans import loan_queries
from catalog.loans.calc.sign_out import against_sign_out
from catalog.loans.calc.wear_clock import WearClock
from catalog.loans.clock_queries import clocks, damage_of
from catalog.loans.models import DamageNote, Loan, LoanLine, PartReturn, SignOut, Wearer
from catalog.pieces.calc.kinds import KINDS

_S = LoanLine.State
AT_SET = (_S.OUT, _S.ON_SET)
SHOWN = (*AT_SET, _S.NOT_BACK)


@dataclass(slots=True)
class PerformerRow:
    """A performer's pieces of a loan; None: what is nobody's. `over`: what is on and must come off."""

    wearer: Wearer | None
    lines: list[LoanLine] = field(default_factory=list)
    over: list[LoanLine] = field(default_factory=list)

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

    @property
    def words(self) -> str:
        """ "6 out, 1 in, 1 missing"."""
        told = ((self.on_set, "out"), (self.in_hand, "in"), (self.missing, "missing"))
        return ", ".join(f"{number} {word}" for number, word in told if number)

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
    clock: WearClock
    damage: tuple[DamageNote, ...]

    @property
    def has_clock(self) -> bool:
        """Whether its minutes are shown: it has a limit, or was worn by the clock."""
        return self.minutes_limit is not None or bool(self.clock.ever)

    @property
    def worn_minutes(self) -> int:
        """Whole minutes that count against the limit."""
        return _minutes(self.clock.stretch)

    @property
    def today_minutes(self) -> int:
        """Whole minutes worn today."""
        return _minutes(self.clock.today)

    @property
    def ever_minutes(self) -> int:
        """Whole minutes worn since its clock was first started."""
        return _minutes(self.clock.ever)


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
        """What the performer has now; what must come off first."""
        return sorted(self.of(_S.ON_SET), key=lambda one: (not one.clock.reached, not one.clock.runs))

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
    """One row a performer of the call, and one for what is nobody's. Four queries."""
    rows = {wearer.pk: PerformerRow(wearer) for wearer in _wearers(loan)}
    nobodys, lines = PerformerRow(None), _lines(loan)
    times = clocks(line for line in lines if line.state == _S.ON_SET)
    for line in lines:
        row = rows.get(line.wearer_id or 0, nobodys)
        row.lines.append(line)
        if line.piece_id in times and times[line.piece_id].runs and times[line.piece_id].reached:
            row.over.append(line)
    return [*rows.values(), *([nobodys] if nobodys.lines else [])]


def performer(loan: Loan, wearer: Wearer) -> Performer:
    """A performer's screen, in a fixed number of queries."""
    lines = _lines(loan)
    mine = [line for line in lines if line.wearer_id == wearer.pk]
    others = tuple(line for line in lines if line.wearer_id is None and line.state == _S.OUT)
    return Performer(wearer, tuple(set_lines(mine)), others)


def set_lines(lines: Iterable[LoanLine]) -> list[SetLine]:
    """What one must know of each piece at the set; twelve queries, however many."""
    rows = list(lines)
    pieces = [line.piece for line in rows]
    wear, hazards, parts = wear_state(pieces), hazards_of(pieces), _parts_of(rows)
    times, damage = clocks(rows), damage_of(rows)
    open_outs = SignOut.objects.filter(line__in=[line.pk for line in rows], in_at=None)
    since = dict(open_outs.values_list("line_id", "out_at"))
    return [
        SetLine(
            line=line,
            since=since.get(line.pk),
            against=against_sign_out(line.piece.number, wear[line.piece_id], worn=KINDS[line.piece.kind].worn),
            conditions=wear[line.piece_id].conditions,
            cautions=set_cautions_for(hazards[line.piece_id], kind=line.piece.kind),
            minutes_limit=_limit(wear[line.piece_id]),
            parts=tuple(parts.get(line.pk, ())),
            clock=times[line.piece_id],
            damage=tuple(damage.get(line.pk, ())),
        )
        for line in rows
    ]


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


def _limit(wear: WearState) -> int | None:
    return wear.decision.minutes_limit if wear.decision else None


def _minutes(span: timedelta) -> int:
    return int(span.total_seconds()) // 60
