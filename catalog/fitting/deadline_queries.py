"""The last safe day of each decision of a call: mending, what is to be made, notices to holders. One count for all.

The dry run asks for its own pieces; once a plan is kept or pieces are held, those are asked for instead.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from catalog.care.calc.first_work import Dates, Stand, Timed, timed
from catalog.care.first_queries import work_of
from catalog.core.days import Kind, last_safe_start, ready_on
from catalog.fitting.models import Plan
from catalog.fitting.queries import DryRun
from catalog.fitting.stock_queries import Cell, Question, question_of
from catalog.loans.calc.notice import Notice
from catalog.loans.models import Call, Hold, HoldPiece
from catalog.loans.queries import HeldSpan, holds_of
from catalog.pieces.models import Piece, Slot


@dataclass(frozen=True, slots=True)
class Deadline:
    """The last safe day of a decision; `late` when it has passed, `under_way` when it has begun in time.

    `piece` is the number of the piece it is about, `hold` the reference of another job's hold.
    """

    day: date | None
    words: str
    note: str
    late: bool
    under_way: bool = False
    piece: str = ""
    hold: str = ""


@dataclass(frozen=True, slots=True)
class FirstThings:
    """All that must be done before the truck loads, by day, and which pieces it was asked of."""

    lines: tuple[Deadline, ...]
    source: str
    pieces: int

    @property
    def late(self) -> int:
        """How many last safe days have passed."""
        return sum(line.late for line in self.lines)

    @property
    def next_day(self) -> date | None:
        """The earliest last safe day that has not passed, of what has not begun."""
        return min((line.day for line in self.lines if line.day and not line.late and not line.under_way), default=None)


def deadlines(run: DryRun) -> list[Deadline]:
    """Those of a dry run: of the pieces it uses, and of those it could not use because their day has passed."""
    used = {piece.pk for piece in _used(run)}
    too_late = {row.piece.pk for row in run.stock if row.cell is Cell.MEND and not row.usable and len(row.why) == 1}
    pieces = {row.piece.pk: row.piece.number for row in run.stock if row.piece.pk in used | too_late}
    makes = Counter((make.role, make.slot) for make in run.plan.make)
    return by_day(
        [
            *_mending(pieces, _dates(run.call, run.question)),
            *_making(run.call, {run.slots[key]: number for key, number in makes.items()}, run.question),
            *_notices(run.call, clashing([row.piece for row in run.stock], run.question), run.question),
        ]
    )


def kept_things(call: Call) -> FirstThings | None:
    """Those of the pieces that are held for the call or in its kept plan; None while there is neither."""
    plan = Plan.objects.filter(call=call, current=True).first()
    held = HoldPiece.objects.filter(hold__call=call, hold__state=Hold.State.ACTIVE, released_on=None)
    pieces = dict(held.values_list("piece_id", "piece__number"))
    source = "the pieces held or pencilled for it" if pieces else "the pieces of the kept plan"
    if plan is None and not pieces:
        return None
    makes: Counter[Slot] = Counter()
    if plan is not None:
        planned = dict(plan.lines.filter(piece__isnull=False).values_list("piece_id", "piece__number"))
        source = "the pieces held and those of the kept plan" if pieces and planned.keys() - pieces.keys() else source
        pieces |= planned
        makes = Counter(order.slot for order in plan.make_orders.select_related("slot", "slot__role"))
    question = question_of(call)
    roles = list(call.needs.values_list("role_id", flat=True))
    asked = {*pieces, *Piece.objects.filter(role__in=roles, slot__isnull=False).values_list("pk", flat=True)}
    lines = [
        *_mending(pieces, _dates(call, question)),
        *_making(call, makes, question),
        *_notices(call, clashing(asked, question), question, planned=pieces.keys()),
    ]
    return FirstThings(tuple(by_day(lines)), source, len(pieces))


def run_things(run: DryRun) -> FirstThings:
    """Those of a dry run, for the same page."""
    return FirstThings(tuple(deadlines(run)), "the pieces of the dry run", len(_used(run)))


def by_day(lines: Iterable[Deadline]) -> list[Deadline]:
    """What has no day first, then by day."""
    return sorted(lines, key=lambda line: (line.day is not None, line.day or date.max, line.words))


def clashing(pieces: Iterable[Piece | int], question: Question) -> dict[str, list[HeldSpan]]:
    """Firm holds of others on the call's days, by reference."""
    spans: dict[str, list[HeldSpan]] = {}
    for span in holds_of(pieces, question.first, question.last, ignoring=question.call):
        if span.strength == Hold.Strength.FIRM:
            spans.setdefault(span.hold, []).append(span)
    return spans


def _used(run: DryRun) -> list[Piece]:
    numbers = {assigned.piece for assigned in run.plan.assignments}
    return [row.piece for row in run.stock if row.piece.number in numbers]


def _dates(call: Call, question: Question) -> Dates:
    return Dates(call.load_on, question.today, call.fittings_from, question.closed)


def _mending(pieces: Mapping[int, str], dates: Dates) -> list[Deadline]:
    found = []
    for pk, works in work_of(pieces).items():
        found += [_mended(pieces[pk], timed(work, dates)) for work in works]
    return found


def _mended(number: str, one: Timed) -> Deadline:
    takes, what = one.work.takes, f"{number}: {one.work.what}"
    if one.ready is not None:
        ends = "ready" if one.stand is Stand.UNDER_WAY else "not ready before"
        note = f"under way since {one.work.started_on:%-d %b %Y}, {ends} {one.ready:%-d %b %Y}"
        return Deadline(one.ready, f"Under way on {what}", note, one.is_late, under_way=not one.is_late, piece=number)
    if one.start_by is None:
        began = f"under way since {one.work.started_on:%-d %b %Y}; " if one.work.started_on else ""
        note = f"{began}nobody has said how long it takes"
        return Deadline(None, f"Start work on {what}", note, late=False, piece=number)
    early = f"by {one.for_fittings:%-d %b %Y} if it is wanted at the fittings" if one.for_fittings else ""
    note = "; ".join(part for part in (takes, early) if part)
    return Deadline(one.start_by, f"Start work on {what}", note, one.is_late, piece=number)


def order_by(call: Call, slot: Slot, closed: frozenset[date]) -> date | None:
    """The last day to order and measure what is made for a slot; None when nobody said how long it takes."""
    return None if slot.make_days is None else last_safe_start(call.load_on, slot.make_days, Kind.WORKING, closed)


def _making(call: Call, wanted: Mapping[Slot, int], question: Question) -> list[Deadline]:
    """One line a slot: order and measure by that day. Nobody said how long: that is the first thing to ask."""
    lines = []
    for slot, number in wanted.items():
        words = f"Order {number} × {slot.name} ({slot.role.name})"
        day = order_by(call, slot, question.closed)
        if day is None:
            lines.append(Deadline(None, words, "nobody has said how long making takes", late=False))
            continue
        note = f"{slot.make_days} working days; its wearer is measured by then"
        if call.fittings_from is not None and day < call.fittings_from:
            ready = ready_on(call.fittings_from, slot.make_days or 0, Kind.WORKING, question.closed)
            note += f", before the fittings: measured on {call.fittings_from:%-d %b %Y} it is ready {ready:%-d %b %Y}"
            note += ", after loading" if ready > call.load_on else ", on the day of loading"
        lines.append(Deadline(day, words, note, day < question.today))
    return lines


def _notices(
    call: Call, clashes: Mapping[str, list[HeldSpan]], question: Question, *, planned: Iterable[int] | None = None
) -> list[Deadline]:
    lines, chosen = [], None if planned is None else set(planned)
    for reference, spans in clashes.items():
        pieces = f"{len(spans)} {'piece' if len(spans) == 1 else 'pieces'}"
        words = f"Ask {spans[0].for_whom} to release {pieces} ({reference})"
        notice = Notice(spans[0].notice_days, call.load_on, question.first)
        note = notice.note
        if chosen is not None and not any(span.piece_id in chosen for span in spans):
            note += "; nothing that is planned hangs on it"
        day = notice.ask_by
        lines.append(Deadline(day, words, note, day is not None and day < question.today, hold=reference))
    return lines
