"""Reads of the loans room: who has a piece on which day, what is open, what comes next."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, F, Max, Min, Q, QuerySet

from catalog.core import clock
from catalog.loans.models import Call, Hold, HoldDay, HoldPiece, Loan, LoanLine
from catalog.pieces.models import Piece

# Line states of a piece that is not free for anything else.
AWAY = (
    LoanLine.State.PULLED,
    LoanLine.State.OUT,
    LoanLine.State.ON_SET,
    LoanLine.State.BACK,
    LoanLine.State.QUARANTINED,
)


@dataclass(frozen=True, slots=True)
class HeldSpan:
    """A piece in a hold from a day to a day, both taken, buffers included."""

    piece_id: int
    number: str
    hold: str
    for_whom: str
    strength: str
    first: date
    last: date
    use_from: date
    use_to: date
    call_id: int | None
    notice_days: int | None
    lapses_on: date | None

    @property
    def sentence(self) -> str:
        """Who has the piece, and which days."""
        return (
            f"{self.number} is held by {self.hold} for {self.for_whom} "
            f"from {self.first:%-d %b %Y} to {self.last:%-d %b %Y}"
        )


@dataclass(frozen=True, slots=True)
class Clash:
    """A firmly held piece, and the first and last of the asked days on which it is taken."""

    piece_id: int
    number: str
    hold: str
    for_whom: str
    first: date
    last: date
    days: int

    @property
    def sentence(self) -> str:
        """Who has the piece, and on which of the asked days."""
        when = f"on {_day(self.first)}"
        if self.first != self.last:
            when = f"from {_day(self.first)} to {_day(self.last)}"
        return f"{self.number} is firmly held by {self.hold} for {self.for_whom} {when}"


def days_between(first: date, last: date) -> list[date]:
    """Every day from first to last, both included; empty when last comes before first."""
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def is_living(hold: Hold, today: date) -> bool:
    """Whether the hold still holds anything: a pencil past its day has lapsed even if nobody wrote it down."""
    if hold.state != Hold.State.ACTIVE:
        return False
    return hold.strength == Hold.Strength.FIRM or hold.lapses_on is None or hold.lapses_on > today


def living(holds: "QuerySet[Hold]", today: date) -> "QuerySet[Hold]":
    """The holds among `holds` for which `is_living` is true."""
    pencil = Q(strength=Hold.Strength.PENCIL, lapses_on__lte=today)
    return holds.filter(state=Hold.State.ACTIVE).exclude(pencil)


def holds_of(
    pieces: Iterable[Piece | int], first: date, last: date, *, ignoring: Call | Hold | None = None
) -> list[HeldSpan]:
    """Firm holds and living pencils of the pieces that touch the days, in order of piece and day.

    `ignoring`: a call whose own holds do not count against it, or one hold. A released piece counts until its day.
    """
    ids = [piece if isinstance(piece, int) else piece.pk for piece in pieces]
    today = clock.today()
    rows = HoldPiece.objects.filter(piece_id__in=ids, hold__starts__lte=last, hold__ends__gte=first)
    rows = rows.exclude(hold__state=Hold.State.LAPSED).exclude(
        Q(hold__strength=Hold.Strength.PENCIL) & (Q(hold__lapses_on__lte=today) | Q(released_on__isnull=False))
    )
    rows = rows.filter(Q(released_on=None) | (Q(released_on__gt=F("hold__starts")) & Q(released_on__gt=first)))
    if isinstance(ignoring, Call):
        rows = rows.exclude(hold__call=ignoring)
    elif ignoring is not None:
        rows = rows.exclude(hold=ignoring)
    return [_span(row) for row in rows.select_related("hold", "piece").order_by("piece__number", "hold__starts")]


def firm_clashes(piece_ids: Collection[int], first: date, last: date, *, other_than: Hold | None = None) -> list[Clash]:
    """Which of the pieces another firm hold has on the days, from the day rows themselves."""
    rows = HoldDay.objects.filter(piece_id__in=piece_ids, day__range=(first, last))
    if other_than is not None and other_than.pk is not None:
        rows = rows.exclude(hold_id=other_than.pk)
    grouped = (
        rows.values("piece_id", "piece__number", "hold__reference", "hold__for_whom")
        .annotate(first=Min("day"), last=Max("day"), days=Count("id"))
        .order_by("piece__number", "first")
    )
    return [
        Clash(
            row["piece_id"],
            row["piece__number"],
            row["hold__reference"],
            row["hold__for_whom"],
            row["first"],
            row["last"],
            row["days"],
        )
        for row in grouped
    ]


def busy_piece_ids(first: date, last: date, *, except_call: Call | None = None) -> set[int]:
    """Pieces that are not free on all the days: firmly held by another job, or on another job's open loan."""
    held = HoldDay.objects.filter(day__range=(first, last))
    away = LoanLine.objects.filter(state__in=AWAY)
    if except_call is not None:
        held = held.exclude(hold__call=except_call)
        away = away.exclude(loan__call=except_call)
    return set(held.values_list("piece_id", flat=True).distinct()) | set(away.values_list("piece_id", flat=True))


def next_hold_reference() -> str:
    """The next free running reference of a hold."""
    return _next_reference("HOLD-", Hold.objects.filter(reference__startswith="HOLD-").values_list("reference"))


def next_loan_reference(hold: Hold) -> str:
    """The next free reference of a loan of this hold: the call's or the hold's, and a running number."""
    base = f"{hold.call.reference if hold.call else hold.reference}-L"
    return _next_reference(base, Loan.objects.filter(reference__startswith=base).values_list("reference"), digits=1)


def call_by_reference(reference: str) -> Call | None:
    """The call of this reference, however it is spelt."""
    return Call.objects.select_related("production", "look").filter(reference__iexact=reference).first()


def calls() -> "QuerySet[Call]":
    """All calls, newest first, with how many are asked and listed."""
    return Call.objects.select_related("production", "look").order_by("-received_on", "reference")


def _next_reference(base: str, taken: Iterable[tuple[str]], *, digits: int = 4) -> str:
    tails = [reference[len(base) :] for (reference,) in taken]
    highest = max((int(tail) for tail in tails if tail.isdecimal()), default=0)
    return f"{base}{highest + 1:0{digits}d}"


def _day(day: date) -> str:
    return f"{day:%-d %b %Y}"


def _span(row: HoldPiece) -> HeldSpan:
    hold = row.hold
    last = hold.ends if row.released_on is None else min(hold.ends, row.released_on - timedelta(days=1))
    return HeldSpan(
        piece_id=row.piece_id,
        number=row.piece.number,
        hold=hold.reference,
        for_whom=hold.for_whom,
        strength=hold.strength,
        first=hold.starts,
        last=last,
        use_from=hold.use_from,
        use_to=hold.use_to,
        call_id=hold.call_id,
        notice_days=hold.notice_days,
        lapses_on=hold.lapses_on,
    )
