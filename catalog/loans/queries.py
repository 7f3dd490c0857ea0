"""Reads of the loans room: who has a piece on which day, what is open, what comes next."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Count, F, Max, Min, Q, QuerySet
from django.urls import reverse

from catalog.core import clock
from catalog.loans.loan_models import HOLD_WORDS
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
        """Who holds the piece, or has pencilled it, and which days."""
        return (
            f"{self.number} is {HOLD_WORDS[self.strength]} by {self.hold} for {self.for_whom} "
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


def living_pencil(at: str, today: date) -> Q:
    """A pencil that has not lapsed, reached over the relation `at` ("holds__")."""
    active = Q(**{f"{at}state": Hold.State.ACTIVE, f"{at}strength": Hold.Strength.PENCIL})
    return active & (Q(**{f"{at}lapses_on": None}) | Q(**{f"{at}lapses_on__gt": today}))


def standing_of(call: Call, today: date) -> list[Hold]:
    """The call's holds and pencils that are not over and still have a piece, in the order they were made."""
    holds = living(Hold.objects.filter(call=call), today).filter(ends__gte=today)
    return list(holds.filter(pieces__released_on=None).distinct().order_by("pk"))


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


def firm_clashes(
    piece_ids: Collection[int], first: date, last: date, *, other_than: Hold | None = None, call: Call | None = None
) -> list[Clash]:
    """Which of the pieces another firm hold has on the days, from the day rows themselves; not those of `call`."""
    rows = HoldDay.objects.filter(piece_id__in=piece_ids, day__range=(first, last))
    if other_than is not None and other_than.pk is not None:
        rows = rows.exclude(hold_id=other_than.pk)
    if call is not None:
        rows = rows.exclude(hold__call=call)
    whose = ("piece_id", "piece__number", "hold__reference", "hold__for_whom")
    grouped = rows.values(*whose).annotate(first=Min("day"), last=Max("day"), days=Count("id"))
    return [
        Clash(*row) for row in grouped.order_by("piece__number", "first").values_list(*whose, "first", "last", "days")
    ]


def busy_piece_ids(first: date, last: date, *, except_call: Call | None = None) -> set[int]:
    """Pieces that are not free on all the days: firmly held by another job, or on another job's open loan."""
    held = HoldDay.objects.filter(day__range=(first, last))
    away = LoanLine.objects.filter(state__in=AWAY)
    if except_call is not None:
        held = held.exclude(hold__call=except_call)
        away = away.exclude(loan__call=except_call)
    return set(held.values_list("piece_id", flat=True).distinct()) | set(away.values_list("piece_id", flat=True))


@dataclass(frozen=True, slots=True)
class PieceDays:
    """The section of a piece's page: is it free now, who has it when, which loan it is on, and past loans."""

    today: date
    until: date
    free_now: bool
    sentence: str
    spans: list[HeldSpan]
    rows: list[dict[str, Any]]
    line: LoanLine | None
    past: list[LoanLine]


def days_of(piece: Piece, today: date | None = None) -> PieceDays:
    """Free and held days of a piece from today on, its loan now, and its five last loans. Three queries."""
    today = today or clock.today()
    spans = holds_of([piece], today, date.max)
    lines = list(
        LoanLine.objects.filter(piece=piece).select_related("loan", "wearer").order_by("-loan__made_at", "-pk")[:6]
    )
    line = next((one for one in lines if one.state in AWAY), None)
    firm = [span for span in spans if span.strength == Hold.Strength.FIRM]
    now = next((span for span in firm if span.first <= today), None)
    until = max([today + timedelta(days=60), *(span.last for span in spans)])
    return PieceDays(
        today,
        min(until, today + timedelta(days=400)),
        line is None and now is None,
        _free_sentence(line, now, firm) + _pencil_sentence(spans),
        spans,
        bars(spans),
        line,
        [one for one in lines if one is not line and one.state != LoanLine.State.LEFT_BEHIND][:5],
    )


def _free_sentence(line: LoanLine | None, now: HeldSpan | None, firm: list[HeldSpan]) -> str:
    """What stands behind the word on loan, held or free."""
    if line is not None:
        due = f", due {_day(line.loan.due_on)}" if line.state in {LoanLine.State.OUT, LoanLine.State.ON_SET} else ""
        return f"{line.loan} to {line.loan.to_whom}: {line.get_state_display()}{due}."
    if now is not None:
        return f"By {now.hold} for {now.for_whom} until {_day(now.last)}."
    if firm:
        return f"Until {_day(firm[0].first - timedelta(days=1))}; then held by {firm[0].hold}."
    return "No firm hold is coming."


def _pencil_sentence(spans: list[HeldSpan]) -> str:
    pencils = [span for span in spans if span.strength == Hold.Strength.PENCIL]
    if not pencils:
        return ""
    first = pencils[0]
    more = f", and {len(pencils) - 1} more" if len(pencils) > 1 else ""
    return f" Pencilled by {first.hold} for {first.for_whom} from {_day(first.first)} to {_day(first.last)}{more}."


def bars(spans: Iterable[HeldSpan]) -> list[dict[str, Any]]:
    """Rows for the day bars, one a hold: the days of use, and the buffers around them."""
    rows: dict[str, dict[str, Any]] = {}
    for span in spans:
        row = rows.setdefault(
            span.hold, {"name": span.hold, "url": reverse("loans:hold", args=[span.hold]), "bands": []}
        )
        row["bands"] = row["bands"] or bands(span)
    return list(rows.values())


def bands(span: HeldSpan) -> list[dict[str, Any]]:
    """A held span as bands for the drawing: prep, the days of use, quarantine."""
    use_to = min(span.use_to, span.last)
    parts = [
        ("buffer", span.first, span.use_from - timedelta(days=1), "prep"),
        (span.strength, span.use_from, use_to, span.for_whom),
        ("buffer", use_to + timedelta(days=1), span.last, "quarantine"),
    ]
    return [{"kind": kind, "first": a, "last": b, "word": word} for kind, a, b, word in parts if a <= b]


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


def wearer_rows(call: Call) -> list[dict[str, Any]]:
    """Each performer of the call with the free days in words; two queries."""
    days = {*call.days(), *([call.cover_day] if call.cover_day else [])}
    rows = []
    for wearer in call.wearers.prefetch_related("free_days").order_by("number"):
        free = {one.day for one in wearer.free_days.all()}
        words = ", ".join(f"{day:%a %-d %b}" for day in sorted(free))
        rows.append({"wearer": wearer, "days": "all days" if free == days else words or "no day"})
    return rows


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
