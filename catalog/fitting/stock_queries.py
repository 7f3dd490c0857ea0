"""Which pieces of a role can be used for a call, and why the others cannot. An unknown never counts as a yes."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Prefetch, QuerySet

from catalog.care.calc.wear import WearState
from catalog.care.models import HazardFinding, Quarantine, WearDecision
from catalog.care.queries import wear_state
from catalog.core import clock, house
from catalog.loans.calc.days import Kind, last_safe_start
from catalog.loans.models import Call, Hold, LoanLine
from catalog.loans.queries import HeldSpan, holds_of
from catalog.pieces.models import Look, Piece, Role
from catalog.storage.models import Place, State


@dataclass(frozen=True, slots=True)
class Question:
    """For what days, look and suppositions the stock is asked. `first` to `last` are the days a piece is needed."""

    first: date
    last: date
    today: date
    ready_by: date
    look: Look | None = None
    close_up: bool = False
    call: Call | None = None
    found: frozenset[str] = frozenset()
    released: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class StockPiece:
    """A piece and whether it can be used; `why` says what is in the way, `work` what must be done first."""

    piece: Piece
    usable: bool
    why: tuple[str, ...] = ()
    missing: bool = False
    work: str = ""
    work_days: int | None = None
    start_by: date | None = None
    notes: tuple[str, ...] = ()


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
    )


def question_of_days(first: date, last: date, *, look: Look | None = None) -> Question:
    """The same for days without a call."""
    return Question(first, last, clock.today(), first, look)


def pieces_of(roles: Collection[Role]) -> "QuerySet[Piece]":
    """Pieces that can fill a slot of the roles, with all that fitting asks of them, in a fixed number of queries."""
    return (
        Piece.objects.filter(role__in=roles, slot__isnull=False)
        .select_related("production", "role", "slot", "set", "look", "standing", "standing__place")
        .prefetch_related(
            "materials",
            "measures",
            "matches",
            Prefetch("hazards", HazardFinding.objects.filter(current=True), to_attr="current_hazards"),
            Prefetch("quarantines", Quarantine.objects.filter(released_on=None), to_attr="open_quarantines"),
        )
        .order_by("number")
    )


def stock_of(roles: Collection[Role], question: Question) -> list[StockPiece]:
    """Every piece of the roles, judged for the question."""
    pieces = list(pieces_of(roles))
    wear = wear_state(pieces)
    held: dict[int, HeldSpan] = {}
    for span in holds_of(pieces, question.first, question.last, ignoring=question.call):
        if span.strength == Hold.Strength.FIRM and span.hold.upper() not in question.released:
            held[span.piece_id] = span
    found_places = _places_under(question.found)
    coming = _released_pieces(question)
    own = _own_loan(question)
    return [_judge(piece, question, wear[piece.pk], held.get(piece.pk), found_places, coming | own) for piece in pieces]


def _judge(
    piece: Piece,
    question: Question,
    wear: WearState,
    held: HeldSpan | None,
    found_places: set[int],
    counted_present: set[int],
) -> StockPiece:
    absent = _absent(piece, found_places, counted_present)
    why = [absent] if absent else []
    if held is not None:
        why.append(held.sentence + ".")
    why += wear.blockers
    notes = []
    decision = wear.decision
    work, work_days, start_by = "", None, None
    if decision is not None and decision.decision == WearDecision.Decision.REPAIR:
        work, work_days = decision.repair, decision.repair_days
        start_by = last_safe_start(question.ready_by, decision.repair_days or 0, Kind(decision.repair_day_kind))
        if start_by < question.today:
            why.append(f"{decision.repair}: had to start by {start_by:%-d %b %Y}.")
    elif question.look and piece.look and piece.look.pk != question.look.pk:
        why.append(f"It is in the look “{piece.look}”, and nobody has said that it can be made “{question.look}”.")
    if decision is not None and decision.no_close_up:
        if question.close_up:
            why.append("Not for close-up.")
        else:
            notes.append("Not for close-up.")
    if decision is not None and decision.minutes_limit:
        notes.append(f"At most {decision.minutes_limit} minutes at a time.")
    return StockPiece(piece, not why, tuple(why), bool(absent), work, work_days, start_by, tuple(notes))


def _absent(piece: Piece, found_places: set[int], counted_present: set[int]) -> str:
    """Why the piece is not here, or nothing when it is."""
    standing = getattr(piece, "standing", None)
    if piece.pk in counted_present:
        return ""
    if standing is None:
        return "It has no place yet."
    if standing.state == State.NOT_FOUND:
        seen = f"last seen {standing.last_seen:%-d %b %Y}" if standing.last_seen else "never seen since it was listed"
        return "" if standing.place_id in found_places else f"Not found, {seen}."
    if piece.open_quarantines:  # type: ignore[attr-defined]
        return f"In quarantine until {piece.open_quarantines[0].due_on:%-d %b %Y}."  # type: ignore[attr-defined]
    if standing.state != State.IN_STORE:
        return f"Not in store: {standing.get_state_display()}."
    return ""


def _places_under(codes: Collection[str]) -> set[int]:
    """Ids of the places of these codes and of all within them."""
    found: set[int] = set()
    for code in codes:
        place = Place.objects.filter(code__iexact=code).first()
        if place is not None:
            found |= set(Place.objects.descendants(place, include_self=True).values_list("pk", flat=True))
    return found


def _released_pieces(question: Question) -> set[int]:
    """Pieces of the holds supposed to be released: their borrower would send them home."""
    if not question.released:
        return set()
    lines = LoanLine.objects.filter(state__in=[LoanLine.State.OUT, LoanLine.State.ON_SET])
    return {
        line.piece_id
        for line in lines.select_related("loan__hold")
        if line.loan.hold is not None and line.loan.hold.reference.upper() in question.released
    }


def _own_loan(question: Question) -> set[int]:
    """Pieces already pulled or sent for this very call count as present for it."""
    if question.call is None:
        return set()
    lines = LoanLine.objects.filter(loan__call=question.call, state__in=["pulled", "out", "on set"])
    return set(lines.values_list("piece_id", flat=True))
