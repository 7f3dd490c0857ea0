"""Which pieces of a role can be used for a call, and why the others cannot. An unknown never counts as a yes."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum

from django.db.models import Prefetch, QuerySet

from catalog.care.calc.wear import Decision, Wear, WearState
from catalog.care.garment_queries import size_changes
from catalog.care.models import HazardFinding, Quarantine, Treatment
from catalog.care.queries import wear_state
from catalog.core import clock, house
from catalog.core.days import Kind, last_safe_start, ready_on
from catalog.loans.models import Call, Hold, LoanLine
from catalog.loans.queries import HeldSpan, holds_of
from catalog.pieces.models import Look, Piece, Role
from catalog.storage.models import Place, State


class Cell(StrEnum):
    """How a piece stands to the question, in a word for a set sheet."""

    PRESENT = "present"
    MEND = "mended first"
    HELD = "held"
    AWAY = "away"
    MISSING = "missing"
    UNFIT = "not fit"


@dataclass(frozen=True, slots=True)
class Question:
    """For what days, look and suppositions the stock is asked. `first` to `last` are the days a piece is needed.

    `ready_by` is the day by which it must be mended; None: it counts as usable however long mending takes.
    """

    first: date
    last: date
    today: date
    ready_by: date | None
    look: Look | None = None
    close_up: bool = False
    call: Call | None = None
    found: frozenset[str] = frozenset()
    released: frozenset[str] = frozenset()
    closed: frozenset[date] = frozenset()


@dataclass(frozen=True, slots=True)
class StockPiece:
    """A piece and whether it can be used; `why` says what is in the way, `work` what must be done first."""

    piece: Piece
    cell: Cell
    why: tuple[str, ...] = ()
    work: str = ""
    work_days: int | None = None
    work_day_kind: Kind = Kind.WORKING
    start_by: date | None = None
    notes: tuple[str, ...] = ()

    @property
    def usable(self) -> bool:
        """Whether the planner may use it."""
        return not self.why


@dataclass(slots=True)
class _Judged:
    """What is found out about one piece while it is judged; the gravest cell stands first."""

    against: list[tuple[Cell, str]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    work: str = ""
    work_days: int | None = None
    work_day_kind: Kind = Kind.WORKING
    start_by: date | None = None

    def no(self, cell: Cell, sentence: str) -> None:
        self.against.append((cell, sentence))


@dataclass(frozen=True, slots=True)
class _Seen:
    """What is asked once for all pieces: supposed and own presence, and the holds of others."""

    found_places: frozenset[int]
    counted_present: frozenset[int]
    firm: dict[int, HeldSpan]
    pencils: dict[int, HeldSpan]


def question_of(call: Call, *, found: Iterable[str] = (), released: Iterable[str] = ()) -> Question:
    """A call's days with the house's buffers: from the first fitting or the loading to the end of quarantine."""
    start = min(day for day in (call.fittings_from, call.load_on) if day is not None)
    return Question(
        first=start - timedelta(days=house.value("hold.days_before")),
        last=call.back_on + timedelta(days=house.value("hold.days_after")),
        today=clock.today(),
        ready_by=call.load_on,
        look=call.look,
        close_up=call.close_up,
        call=call,
        found=frozenset(code.upper() for code in found),
        released=frozenset(reference.upper() for reference in released),
        closed=house.closed_days(),
    )


def question_of_days(first: date | None = None, last: date | None = None, *, look: Look | None = None) -> Question:
    """The same without a call: for the days given, else for the store as it stands today with all mending done."""
    today = clock.today()
    return Question(first or today, last or first or today, today, first, look, closed=house.closed_days())


def pieces_of(roles: Collection[Role]) -> "QuerySet[Piece]":
    """Pieces that can fill a slot of the roles, with all that fitting asks of them, in a fixed number of queries."""
    work = Treatment.objects.filter(state__in=Treatment.OPEN)
    return (
        Piece.objects.filter(role__in=roles, slot__isnull=False)
        .select_related("production", "role", "slot", "set", "look", "standing", "standing__place")
        .prefetch_related(
            "materials",
            "measures",
            "matches",
            Prefetch("hazards", HazardFinding.objects.filter(current=True), to_attr="current_hazards"),
            Prefetch("quarantines", Quarantine.objects.filter(released_on=None), to_attr="open_quarantines"),
            Prefetch("treatments", work, to_attr="open_treatments"),
            size_changes(),
        )
        .order_by("number")
    )


def stock_of(roles: Collection[Role], question: Question) -> list[StockPiece]:
    """Every piece of the roles, judged for the question."""
    pieces = list(pieces_of(roles))
    wear = wear_state(pieces)
    firm: dict[int, HeldSpan] = {}
    pencils: dict[int, HeldSpan] = {}
    for span in holds_of(pieces, question.first, question.last, ignoring=question.call):
        if span.hold.upper() not in question.released:
            (firm if span.strength == Hold.Strength.FIRM else pencils).setdefault(span.piece_id, span)
    seen = _Seen(_places_under(question.found), _counted_present(question), firm, pencils)
    return [_judge(piece, question, wear[piece.pk], seen) for piece in pieces]


def _judge(piece: Piece, question: Question, wear: WearState, seen: _Seen) -> StockPiece:
    found = _Judged()
    if piece.pk not in seen.counted_present:
        _presence(found, piece, question, seen)
    if span := seen.firm.get(piece.pk):
        found.no(Cell.HELD, f"{span.sentence}.")
    elif span := seen.pencils.get(piece.pk):
        found.notes.append(f"{span.sentence}.")
    for sentence in wear.why:
        found.no(Cell.UNFIT, sentence)
    _wear(found, piece, question, wear)
    cell = found.against[0][0] if found.against else Cell.MEND if found.work else Cell.PRESENT
    why = tuple(sentence for _, sentence in found.against)
    return StockPiece(
        piece, cell, why, found.work, found.work_days, found.work_day_kind, found.start_by, tuple(found.notes)
    )


def _presence(found: _Judged, piece: Piece, question: Question, seen: _Seen) -> None:
    """Whether it is here, or would be if what is supposed were true."""
    standing = getattr(piece, "standing", None)
    if standing is None:
        found.no(Cell.MISSING, "It has no place yet.")
        return
    lost_with = standing.place is not None and standing.place.state == State.NOT_FOUND
    if standing.state == State.NOT_FOUND or (lost_with and standing.state == State.IN_STORE):
        if standing.place_id not in seen.found_places:
            last = f"last seen {standing.last_seen:%-d %b %Y}" if standing.last_seen else "never seen since listed"
            found.no(Cell.MISSING, f"Not found, {last}.")
        return
    for apart in piece.open_quarantines:  # type: ignore[attr-defined]
        _quarantined(found, apart, question)
    if standing.state == State.TREATMENT:
        ready = _under_way(piece, question.closed)
        if ready is None:
            found.no(Cell.AWAY, "At treatment, and nobody has said until when.")
        elif question.ready_by is not None and ready > question.ready_by:
            found.no(Cell.AWAY, f"At treatment until {ready:%-d %b %Y}.")
        else:
            found.notes.append(f"At treatment until {ready:%-d %b %Y}.")
    elif standing.state != State.IN_STORE:
        found.no(Cell.AWAY, f"Not in store: {standing.get_state_display()}.")
    else:
        _pest_work(found, piece, question)


def _quarantined(found: _Judged, apart: Quarantine, question: Question) -> None:
    """Quarantine that is due before the days asked for ends in time: usable, with the word that it ends by a look."""
    until = f"In quarantine until {apart.due_on:%-d %b %Y}"
    needed = question.first if question.ready_by is None else min(question.first, question.ready_by)
    if apart.due_on < needed and question.today < needed:
        found.notes.append(f"{until}; to be checked and released first.")
    else:
        found.no(Cell.AWAY, f"{until}.")


def _pest_work(found: _Judged, piece: Piece, question: Question) -> None:
    """A piece with open pest work stays until it is done: usable when that is in time, as with any other work."""
    for work in piece.open_treatments:  # type: ignore[attr-defined]
        if not work.against_pests:
            continue
        kind = Kind(work.day_kind)
        if work.days is None:
            found.no(Cell.AWAY, f"{work.what}: nobody has said how long it takes.")
        elif work.started_on is not None:
            ready = ready_on(work.started_on, work.days, kind, question.closed)
            if question.ready_by is not None and ready > question.ready_by:
                found.no(Cell.AWAY, f"{work.what}: not ready before {ready:%-d %b %Y}.")
            found.notes.append(f"{work.what}, until {ready:%-d %b %Y}.")
        else:
            found.work, found.work_days, found.work_day_kind = work.what, work.days, kind
            if question.ready_by is not None:
                found.start_by = last_safe_start(question.ready_by, work.days, kind, question.closed)
                if found.start_by < question.today:
                    found.no(Cell.AWAY, f"{work.what}: had to start by {found.start_by:%-d %b %Y}.")


def _under_way(piece: Piece, closed: frozenset[date]) -> date | None:
    """When the work that has started is ready; None when none has, or nobody said how long it takes."""
    days = [
        ready_on(work.started_on, work.days, Kind(work.day_kind), closed)
        if work.started_on and work.days is not None
        else None
        for work in piece.open_treatments  # type: ignore[attr-defined]
        if work.state == Treatment.State.STARTED
    ]
    return None if not days or None in days else max(day for day in days if day is not None)


def _wear(found: _Judged, piece: Piece, question: Question, wear: WearState) -> None:
    """Limits, mending and look. A piece in another look is only used when mending was named for it."""
    decision = wear.decision
    if decision is None:
        return
    found.notes += [sentence for sentence in wear.conditions if wear.wear is not Wear.REPAIR]
    if decision.no_close_up and question.close_up:
        found.no(Cell.UNFIT, "Not for close-up.")
    if wear.wear is Wear.REPAIR:
        _mending(found, piece, question, decision)
    elif question.look and piece.look and piece.look.pk != question.look.pk:
        found.no(
            Cell.UNFIT, f"It is in the look “{piece.look}”; nobody has said that it can be made “{question.look}”."
        )


def _mending(found: _Judged, piece: Piece, question: Question, decision: Decision) -> None:
    found.work, found.work_days = decision.repair, decision.repair_days
    found.work_day_kind = Kind(decision.repair_day_kind)
    ready = _under_way(piece, question.closed)
    if question.ready_by is None:
        return
    if ready is not None:
        if ready > question.ready_by:
            found.no(Cell.MEND, f"{decision.repair}: not ready before {ready:%-d %b %Y}.")
        return
    if decision.repair_days is None:
        found.no(Cell.MEND, f"{decision.repair}: nobody has said how long it takes.")
        return
    found.start_by = last_safe_start(question.ready_by, decision.repair_days, found.work_day_kind, question.closed)
    if found.start_by < question.today:
        found.no(Cell.MEND, f"{decision.repair}: had to start by {found.start_by:%-d %b %Y}.")


def _places_under(codes: Collection[str]) -> frozenset[int]:
    """Ids of the places of these codes and of all within them."""
    found: set[int] = set()
    for code in codes:
        place = Place.objects.filter(code__iexact=code).first()
        if place is not None:
            found |= set(Place.objects.descendants(place, include_self=True).values_list("pk", flat=True))
    return frozenset(found)


def _counted_present(question: Question) -> frozenset[int]:
    """Pieces that are out and count as here: of holds supposed to be released, and those already out for this call."""
    found: set[int] = set()
    if question.released:
        lines = LoanLine.objects.filter(state__in=[LoanLine.State.OUT, LoanLine.State.ON_SET])
        for piece_id, reference in lines.values_list("piece_id", "loan__hold__reference"):
            if reference is not None and reference.upper() in question.released:
                found.add(piece_id)
    if question.call is not None:
        states = [LoanLine.State.PULLED, LoanLine.State.OUT, LoanLine.State.ON_SET]
        own = LoanLine.objects.filter(loan__call=question.call, state__in=states)
        found |= set(own.values_list("piece_id", flat=True))
    return frozenset(found)
