"""Holding pieces and letting them go. The database alone decides who gets a piece on a day (HoldDay)."""

from collections.abc import Collection, Iterable, Sequence
from datetime import date, timedelta

from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import clock, house
from catalog.core.checks import keep
from catalog.core.errors import AlreadyHeld, Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import lock_rows
from catalog.loans import holdable_queries, queries
from catalog.loans.calc import holdable
from catalog.loans.call_actions import check_reference
from catalog.loans.models import Call, Hold, HoldDay, HoldPiece, Loan, LoanLine
from catalog.loans.waiting_actions import tell_who_waits
from catalog.pieces.models import Piece

# A firm hold writes a row a piece a day; longer than five years is a mistyped year (house judgement).
LONGEST_DAYS = 5 * 366
# Longer than this before its hold nothing leaves; it is a mistyped year (house judgement).
LONGEST_EARLY = 366


def hold(
    *,
    by: User,
    reference: str,
    for_whom: str,
    pieces: Iterable[Piece],
    use_from: date,
    use_to: date,
    strength: str,
    call: Call | None = None,
    days_before: int | None = None,
    days_after: int | None = None,
    confirmed_by: str = "",
    lapses_on: date | None = None,
    notice_days: int | None = None,
    note: str = "",
    purpose: str = "",
) -> Hold:
    """Hold the pieces from `use_from` to `use_to` with buffers (None: the house's own). `purpose` empty: as its call.

    A pencil lapses by itself on `lapses_on` (None: the house's number of days from today) and blocks nobody.
    A firm hold takes each piece for each day or raises AlreadyHeld with who has it; then nothing is stored. It raises
    Refused for a piece that is missing or decided against for this use, and takes the place of its call's own pencils.
    """
    require(by, Ability.HOLD)
    chosen = _distinct(pieces)
    before = house.value("hold.days_before") if days_before is None else days_before
    after = house.value("hold.days_after") if days_after is None else days_after
    _refuse_odd_days(use_from, use_to, min(before, after))
    new = Hold(
        reference=check_reference(reference),
        call=call,
        for_whom=for_whom.strip(),
        strength=strength,
        use_from=use_from,
        use_to=use_to,
        starts=use_from - timedelta(days=before),
        ends=use_to + timedelta(days=after),
        notice_days=notice_days,
        confirmed_by=confirmed_by.strip(),
        lapses_on=None if strength == Hold.Strength.FIRM else lapses_on or _lapse_day(),
        note=note.strip(),
        purpose=purpose,
        made_by=by,
    )
    lapse_pencils(clock.today())
    if firm := new.strength == Hold.Strength.FIRM:
        _tell_the_late(new, chosen)
        _refuse_unfit(new, chosen)
    with _first_come(chosen, new), transaction.atomic():
        _lock(new, chosen)
        _tell_the_late(new, chosen)
        keep(new)
        HoldPiece.objects.bulk_create(HoldPiece(hold=new, piece=piece) for piece in chosen)
        _tell(by, new, new.word, chosen)
        if firm:
            _write_days(new, chosen)
            _replace_pencils(by, new, chosen)
    return new


def firm_up(*, by: User, hold: Hold, confirmed_by: str) -> Hold:
    """Make a living pencil firm, or raise AlreadyHeld with who was first. Needs the name of who authorised it."""
    require(by, Ability.HOLD)
    if not confirmed_by.strip():
        raise Refused("A firm hold needs the name of who authorised it.", field="confirmed_by")
    rows = hold.pieces.filter(released_on=None).select_related("piece").order_by("piece_id")
    chosen = [row.piece for row in rows]
    if hold.strength == Hold.Strength.PENCIL:
        _refuse_unfit(hold, chosen)
    with _first_come(chosen, hold), transaction.atomic():
        _lock(hold, chosen)
        mine = _locked(hold)
        if mine.strength == Hold.Strength.FIRM:
            raise WrongState(f"{mine} is firm already.")
        _must_live(mine)
        mine.strength, mine.confirmed_by, mine.lapses_on = Hold.Strength.FIRM, confirmed_by.strip(), None
        keep(mine)
        _write_days(mine, chosen)
        _tell(by, mine, "made firm", chosen)
        _replace_pencils(by, mine, chosen)
    hold.refresh_from_db()
    return hold


@transaction.atomic
def release_hold(
    *,
    by: User,
    hold: Hold,
    pieces: Iterable[Piece] | None = None,
    reason: str,
    free_from: date | None = None,
) -> Hold:
    """Let all pieces go, or some of them, from `free_from` on (None: today). What was held stays on record.

    Raises Refused without a reason, for a piece that is not in the hold, and for a piece that is out on its loan.
    """
    require(by, Ability.HOLD)
    if not reason.strip():
        raise Refused("Say why the hold is released.", field="reason")
    mine = _locked(hold)
    _must_live(mine)
    rows = list(mine.pieces.filter(released_on=None).select_related("piece").order_by("piece_id"))
    if pieces is not None:
        wanted = {piece.pk for piece in _distinct(pieces)}
        absent = wanted - {row.piece_id for row in rows}
        if absent:
            numbers = Piece.objects.filter(pk__in=absent).order_by("number").values_list("number", flat=True)
            raise Refused(f"{', '.join(numbers)} is not {mine.word} by {mine}.", field="pieces")
        rows = [row for row in rows if row.piece_id in wanted]
    _refuse_what_is_away(mine, rows)
    let_go(by=by, hold=mine, rows=rows, reason=reason, free_from=free_from or clock.today())
    tell_who_waits(by=by, gone=mine, piece_ids=[row.piece_id for row in rows], why="was released")
    hold.refresh_from_db()
    return hold


def let_go(*, by: User | None, hold: Hold, rows: Sequence[HoldPiece], reason: str, free_from: date) -> None:
    """Free the rows' pieces from the day on, inside the caller's transaction; the hold ends with its last piece."""
    day = min(max(free_from, hold.starts), hold.ends + timedelta(days=1))
    ids = [row.piece_id for row in rows]
    lock_rows(Piece.objects.filter(pk__in=ids))
    # What left before its hold began has days before it (`reach_back`): those still to come are free again too.
    hold.days.filter(piece_id__in=ids, day__gte=min(day, free_from)).delete()
    HoldPiece.objects.filter(pk__in=[row.pk for row in rows]).update(released_on=day)
    to = f"{hold.word}_to"
    for row in rows:
        record(
            by,
            "released from a hold" if hold.strength == Hold.Strength.FIRM else "released from a pencil",
            row.piece.subject,
            before={"hold": hold.reference, to: hold.ends},
            after={"hold": "", to: day - timedelta(days=1)},
            reason=reason.strip(),
        )
    if not hold.pieces.filter(released_on=None).exists():
        hold.state = Hold.State.RELEASED
        keep(hold)
    numbers = [row.piece.number for row in rows]
    record(
        by, "released", hold.subject, after={"pieces": numbers, "ends": day, "state": hold.state}, reason=reason.strip()
    )


@transaction.atomic
def add_to_hold(*, by: User, hold: Hold, piece: Piece, from_day: date) -> None:
    """Take one more piece into a firm hold from a day on (a substitute), or raise AlreadyHeld with who has it."""
    require(by, Ability.PULL)
    first = max(from_day, hold.starts)
    try:
        with transaction.atomic():
            row, _ = HoldPiece.objects.update_or_create(hold=hold, piece=piece, defaults={"released_on": None})
            HoldDay.objects.bulk_create(
                HoldDay(hold=hold, piece=piece, day=day) for day in queries.days_between(first, hold.ends)
            )
    except IntegrityError as clash:
        raise _already_held([piece], first, hold.ends, hold) or clash from clash
    record(by, "held", row.piece.subject, after=_piece_facts(hold) | {"held_from": first})


@transaction.atomic
def reach_back(*, by: User, hold: Hold, pieces: Sequence[Piece], from_day: date) -> int:
    """Pieces leave before their hold begins: it takes the days from `from_day` on too. Gives how many days that is.

    Raises AlreadyHeld when another job holds one of them on those days; the hold's own call does not stand in its way.
    """
    require(by, Ability.PULL)
    early = (hold.starts - from_day).days
    if early <= 0:
        return 0
    if early > LONGEST_EARLY:
        raise Refused(f"{hold} begins on {hold.starts:%-d %b %Y}. Look at the year.", field="out_on")
    ids, last = [piece.pk for piece in pieces], hold.starts - timedelta(days=1)
    if held := _already_held(pieces, from_day, last, hold, call=hold.call, field="out_on"):
        raise held
    taken = set(HoldDay.objects.filter(piece_id__in=ids, day__range=(from_day, last)).values_list("piece_id", "day"))
    wanted = ((piece_id, day) for piece_id in sorted(ids) for day in queries.days_between(from_day, last))
    try:
        with transaction.atomic():
            HoldDay.objects.bulk_create(
                HoldDay(hold=hold, piece_id=piece_id, day=day)
                for piece_id, day in wanted
                if (piece_id, day) not in taken
            )
    except IntegrityError as clash:
        raise _already_held(pieces, from_day, last, hold, call=hold.call, field="out_on") or clash from clash
    return early


def lapse_pencils(today: date) -> list[Hold]:
    """Write down which pencils have lapsed by `today`. Readers need not wait: a pencil past its day counts as gone."""
    due = Hold.objects.filter(lapses_on__lte=today, strength="pencil", state=Hold.State.ACTIVE)
    # Looked at first without a lock: nearly always there is nothing to write.
    return _write_lapsed(due) if due.exists() else []


@transaction.atomic
def _write_lapsed(due: "QuerySet[Hold]") -> list[Hold]:
    lock_rows(due)
    gone = list(due)
    for pencil in gone:
        pencil.state = Hold.State.LAPSED
        keep(pencil)
        record(None, "lapsed", pencil.subject, before={"state": "active"}, after={"state": "lapsed"})
        ids = list(pencil.pieces.filter(released_on=None).values_list("piece_id", flat=True))
        tell_who_waits(by=None, gone=pencil, piece_ids=ids, why="lapsed")
    return gone


class _first_come:  # noqa: N801 - read as a phrase: with _first_come(...)
    """Turns the database's refusal of a second firm hold into AlreadyHeld with the winner's name.

    It stands outside the transaction, which is over when it asks who has the pieces.
    """

    def __init__(self, pieces: Sequence[Piece], hold: Hold) -> None:
        self.pieces, self.hold = pieces, hold

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        if isinstance(error, IntegrityError):
            held = _already_held(self.pieces, self.hold.starts, self.hold.ends, self.hold)
            if held:
                raise held from error


def _locked(hold: Hold) -> Hold:
    """The hold as it stands now; nobody else changes it until this transaction ends."""
    return Hold.objects.select_for_update(of=("self",)).get(pk=hold.pk)


def _lock(hold: Hold, pieces: Sequence[Piece]) -> None:
    """What a hold touches, in the order of locks: its call's other holds, which it may end, then its pieces."""
    if hold.call_id is not None:
        lock_rows(Hold.objects.filter(call=hold.call_id))
    lock_rows(Piece.objects.filter(pk__in=[piece.pk for piece in pieces]))


def _must_live(hold: Hold) -> None:
    if hold.state == Hold.State.RELEASED:
        raise WrongState(f"{hold} has been released already.")
    if not queries.is_living(hold, clock.today()):
        raise WrongState(f"{hold} lapsed on {hold.lapses_on:%-d %b %Y}: make a new hold.")


def _already_held(
    pieces: Sequence[Piece], first: date, last: date, mine: Hold, *, call: Call | None = None, field: str = "pieces"
) -> AlreadyHeld | None:
    clashes = queries.firm_clashes([piece.pk for piece in pieces], first, last, other_than=mine, call=call)
    if not clashes:
        return None
    shown = ". ".join(clash.sentence for clash in clashes[:3])
    more = f". {len(clashes) - 3} more pieces clash" if len(clashes) > 3 else ""
    return AlreadyHeld(f"{shown}{more}.", field=field)


def _lapse_day() -> date:
    return clock.today() + timedelta(days=house.value("hold.pencil_days"))


def _tell_the_late(hold: Hold, pieces: Sequence[Piece]) -> None:
    """Who comes after another firm hold is told at once: before waiting for a lock, and again with it in hand.

    It only saves time. What decides is the day rows, which no two holds can write.
    """
    if hold.strength == Hold.Strength.FIRM and (held := _already_held(pieces, hold.starts, hold.ends, hold)):
        raise held


def _refuse_odd_days(use_from: date, use_to: date, shortest_buffer: int) -> None:
    if use_to < use_from:
        raise Refused("A hold ends on or after the day it starts.", field="use_to")
    if shortest_buffer < 0:
        raise Refused("A buffer is a number of days, 0 or more.", field="days_before")
    if (use_to - use_from).days > LONGEST_DAYS or not 1990 <= use_from.year <= 2200:
        raise Refused(f"A hold lies between 1990 and 2200 and lasts at most {LONGEST_DAYS} days.", field="use_to")


def _refuse_unfit(hold: Hold, pieces: Sequence[Piece]) -> None:
    """No firm hold of what is missing, nor, to be worn, of what was decided against: the sentence says what is free."""
    worn = holdable_queries.to_be_worn(hold.purpose, hold.call)
    ids = {piece.number: piece.pk for piece in pieces}
    against = holdable_queries.objections(ids.values(), worn=worn)
    if not against:
        return
    unfit = [ids[one.number] for one in against]
    spare = holdable_queries.spare_by_slot(unfit, hold.starts, hold.ends, worn=worn)
    instead = [number for numbers in spare.values() for number in numbers if number not in ids]
    raise Refused(holdable.refusal(against, instead), field="pieces")


def _replace_pencils(by: User, firm: Hold, pieces: Sequence[Piece]) -> None:
    """The call's own pencils on these pieces and days have done their work: the firm hold stands for them."""
    if firm.call_id is None:
        return
    ids = [piece.pk for piece in pieces]
    own = queries.living(Hold.objects.filter(call=firm.call_id, strength=Hold.Strength.PENCIL), clock.today())
    for pencil in own.filter(use_from__gte=firm.starts, use_to__lte=firm.ends).exclude(pk=firm.pk):
        same = pencil.pieces.filter(released_on=None, piece_id__in=ids).select_related("piece")
        rows = list(same.order_by("piece_id"))
        if rows:
            let_go(by=by, hold=pencil, rows=rows, reason=f"held firmly by {firm}", free_from=clock.today())


def _write_days(hold: Hold, pieces: Sequence[Piece]) -> None:
    """In one order for everybody, so that two racers wait for each other and never form a ring."""
    days = queries.days_between(hold.starts, hold.ends)
    HoldDay.objects.bulk_create(
        [HoldDay(hold=hold, piece=piece, day=day) for piece in pieces for day in days], batch_size=5000
    )


def _distinct(pieces: Iterable[Piece]) -> list[Piece]:
    """Each piece once, in the order in which days are written."""
    chosen = {piece.pk: piece for piece in pieces}
    if not chosen:
        raise Refused("Choose at least one piece to hold.", field="pieces")
    return [chosen[key] for key in sorted(chosen)]


def _refuse_what_is_away(hold: Hold, rows: Collection[HoldPiece]) -> None:
    away = LoanLine.objects.filter(
        loan__hold=hold,
        piece_id__in=[row.piece_id for row in rows],
        state__in=queries.AWAY,
    ).exclude(loan__state=Loan.State.CLOSED)
    numbers = list(away.order_by("piece__number").values_list("piece__number", flat=True))
    if numbers:
        more = f" and {len(numbers) - 5} more" if len(numbers) > 5 else ""
        raise Refused(f"{', '.join(numbers[:5])}{more} is on its loan: it comes free when it is put away.")


def _piece_facts(hold: Hold) -> dict[str, object]:
    word = hold.word
    days = {f"{word}_from": hold.starts, f"{word}_to": hold.ends}
    return {"hold": hold.reference, "strength": hold.strength, **days}


def _tell(by: User, hold: Hold, verb: str, pieces: Sequence[Piece]) -> None:
    record(
        by,
        verb,
        hold.subject,
        after={
            "for_whom": hold.for_whom,
            "strength": hold.strength,
            "use_from": hold.use_from,
            "use_to": hold.use_to,
            "starts": hold.starts,
            "ends": hold.ends,
            "call": hold.call.reference if hold.call else "",
            "pieces": [piece.number for piece in pieces],
            **({"purpose": hold.purpose} if hold.purpose else {}),
        },
    )
    for piece in pieces:
        record(by, verb, piece.subject, after=_piece_facts(hold))
