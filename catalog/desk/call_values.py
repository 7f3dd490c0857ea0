"""The insured value of what leaves the door for a call: what is held, on its loan, planned, or found by a dry run."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from catalog.fitting.calc.plan_types import PlanError
from catalog.fitting.models import Plan
from catalog.fitting.queries import dry_run, needed_pieces
from catalog.loans.models import Call, HoldPiece, Loan, LoanLine
from catalog.loans.queries import living
from catalog.pieces.calc.values import money_words, stale_from, sums
from catalog.pieces.models import Piece, Valuation
from catalog.pieces.value_queries import newest_values, not_valued, stale_years


@dataclass(frozen=True, slots=True)
class ValueRow:
    """A piece's newest value, and the day it goes stale."""

    value: Valuation
    stale_from: date


@dataclass(frozen=True, slots=True)
class Group:
    """Values that are in one state: stale now, before it leaves, before it is back, or good to the end."""

    mark: str
    words: str
    rows: list[ValueRow]

    @property
    def money(self) -> str:
        """What they come to."""
        return money_words(sums((row.value.currency, row.value.amount) for row in self.rows))


@dataclass(frozen=True, slots=True)
class Basis:
    """What is valued in one way: to be remade, agreed, at the market, from an old list."""

    words: str
    pieces: int
    money: str


@dataclass(frozen=True, slots=True)
class LeavingWorth:
    """What leaves, where that was read from, and how old the values are."""

    source: str
    count: int
    money: str
    groups: list[Group]
    not_valued: list[Piece]

    @property
    def bases(self) -> list[Basis]:
        """The same pieces by the basis of their value."""
        values = [row.value for group in self.groups for row in group.rows]
        found = []
        for key, words in Valuation.Basis.choices:
            some = [value for value in values if value.basis == key]
            if some:
                total = money_words(sums((value.currency, value.amount) for value in some))
                found.append(Basis(words, len(some), total))
        return found

    @property
    def stale(self) -> list[Group]:
        """The groups in which a value is or goes stale, where there are any."""
        return [group for group in self.groups[:-1] if group.rows]


def leaving(call: Call, today: date) -> tuple[str, QuerySet[Piece]]:
    """In words where it was read from, and the pieces: holds and loans, else the kept plan, else a dry run."""
    held = HoldPiece.objects.filter(hold__in=living(call.holds.all(), today), released_on=None)
    lines = LoanLine.objects.filter(loan__call=call)
    stayed = lines.filter(state=LoanLine.State.LEFT_BEHIND).values("piece")
    goes = Piece.objects.filter(
        Q(pk__in=held.values("piece")) | Q(pk__in=lines.exclude(state=LoanLine.State.LEFT_BEHIND).values("piece"))
    ).exclude(pk__in=stayed)
    if goes.exists():
        return "held for the call or on its loans", goes
    plan = Plan.objects.filter(call=call, current=True).order_by("-made_at").first()
    if plan is not None:
        planned = plan.lines.filter(piece__isnull=False).values("piece")
        return f"in the plan of {plan.made_at:%-d %b %Y}; nothing is held yet", Piece.objects.filter(pk__in=planned)
    return _by_dry_run(call)


def _by_dry_run(call: Call) -> tuple[str, QuerySet[Piece]]:
    nothing = "nothing is held or planned yet", Piece.objects.none()
    if not call.needs.exists() or not call.wearers.exists():
        return nothing
    try:
        numbers = needed_pieces(dry_run(call))
    except PlanError:
        return nothing
    return "by the dry run as recorded now; nothing is held yet", Piece.objects.filter(number__in=numbers)


def leaving_worth(call: Call, today: date) -> LeavingWorth:
    """The value of what leaves, sorted into what is stale, goes stale before it leaves, or before it is back."""
    source, pieces = leaving(call, today)
    return worth_between(source, pieces, today, call.load_on, call.back_on)


def loan_worth(loan: Loan, today: date) -> tuple[LeavingWorth, date, date]:
    """The same for one loan, and the days on which it leaves and is back."""
    leaves = loan.out_on or (loan.call.load_on if loan.call else loan.hold.use_from if loan.hold else today)
    goes = loan.lines.exclude(state=LoanLine.State.LEFT_BEHIND).values("piece")
    source = f"on the list of {loan}, without what was left behind"
    worth = worth_between(source, Piece.objects.filter(pk__in=goes), today, leaves, loan.due_on)
    return worth, leaves, loan.due_on


def worth_between(source: str, pieces: QuerySet[Piece], today: date, leaves: date, back: date) -> LeavingWorth:
    """The same for any pieces and days."""
    years = stale_years()
    values = newest_values(pieces).select_related("piece__production").order_by("valued_on", "piece__number")
    rows = [ValueRow(value, stale_from(value.valued_on, years)) for value in values]
    now = [row for row in rows if row.stale_from <= today]
    before = [row for row in rows if today < row.stale_from <= leaves]
    during = [row for row in rows if max(today, leaves) < row.stale_from <= back]
    good = [row for row in rows if row.stale_from > max(today, back)]
    unknown = list(not_valued(pieces))
    return LeavingWorth(
        source,
        len(rows) + len(unknown),
        money_words(sums((row.value.currency, row.value.amount) for row in rows)),
        [
            Group("no", "stale now", now),
            Group("conditions", f"stale before it leaves on {leaves:%-d %b %Y}", before),
            Group("conditions", f"stale before it is back on {back:%-d %b %Y}", during),
            Group("may", "good until it is back", good),
        ],
        unknown,
    )
