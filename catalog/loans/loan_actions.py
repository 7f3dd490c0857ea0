"""A loan until the truck leaves: made from a firm hold, pulled by scan, sent with a name."""

from collections.abc import Collection, Mapping
from datetime import date, datetime

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.apart_queries import refuse_kept
from catalog.care.models import ConditionReport
from catalog.care.queries import wear_blockers
from catalog.core import clock
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import lock_rows
from catalog.loans import loan_queries, queries
from catalog.loans.hold_actions import add_to_hold, let_go, reach_back
from catalog.loans.models import Hold, HoldPiece, Loan, LoanLine, PartReturn, Wearer
from catalog.loans.report_actions import refuse_when_signed
from catalog.pieces.models import Part, Piece
from catalog.storage import actions as storage
from catalog.storage.models import Standing, State

_S = LoanLine.State


@transaction.atomic
def start_loan(
    *,
    by: User,
    hold: Hold,
    due_on: date | None = None,
    wearers: Mapping[int, Wearer] | None = None,
) -> Loan:
    """Make the pull list of a firm hold: its pieces that are on no other loan of it, in walking order.

    `due_on` None: the last day of use. `wearers`: piece id to the performer it is meant for.
    """
    require(by, Ability.PULL)
    if hold.strength != Hold.Strength.FIRM:
        raise WrongState(f"{hold} is a pencil: make it firm before anything is pulled.")
    if not queries.is_living(hold, clock.today()):
        raise WrongState(f"{hold} has been released.")
    pieces = [row.piece for row in loan_queries.left_to_pull(hold)]
    if not pieces:
        raise Refused(f"Nothing is left to pull: every piece of {hold} is on a loan.")
    loan = keep(
        Loan(
            reference=queries.next_loan_reference(hold),
            call=hold.call,
            hold=hold,
            to_whom=hold.for_whom,
            due_on=due_on or hold.use_to,
        )
    )
    steps = loan_queries.walking_steps(pieces)
    LoanLine.objects.bulk_create(
        LoanLine(loan=loan, piece=piece, wearer=(wearers or {}).get(piece.pk), order=steps[piece.pk])
        for piece in pieces
    )
    record(
        by,
        "started the pull",
        loan.subject,
        after={
            "reference": loan.reference,
            "to_whom": loan.to_whom,
            "hold": hold.reference,
            "call": hold.call.reference if hold.call else "",
            "due_on": loan.due_on,
            "pieces": sorted(piece.number for piece in pieces),
        },
    )
    return loan


@transaction.atomic
def pull_piece(
    *,
    by: User,
    loan: Loan,
    code_or_number: str,
    substitute_for: Piece | None = None,
    reason: str = "",
    happened: datetime | None = None,
) -> LoanLine:
    """Tick off what was taken from the shelf. Raises Refused with the right piece named when it is a wrong one, and
    WrongState for a piece that open pest work or quarantine keeps where it is.

    With `substitute_for` (a piece still to pull) and a reason another piece goes instead, if it is free.
    """
    require(by, Ability.PULL)
    must_be(loan, Loan.State.PULLING)
    piece = loan_queries.scanned_piece(code_or_number)
    lock_rows(Piece.objects.filter(pk__in=[one.pk for one in (piece, substitute_for) if one]))
    line = loan.lines.filter(piece=piece).first()
    if line is None:
        if substitute_for is None:
            raise Refused(loan_queries.wrong_piece_sentence(loan, piece), field="code")
        line = _substitute(by, loan, piece, substitute_for, reason.strip())
    elif line.state != _S.TO_PULL:
        raise WrongState(f"{piece} is {line.get_state_display()} already.", field="code")
    _must_be_in_store(piece)
    line.state = _S.PULLED
    keep(line)
    told = {"loan": loan.reference, "loan_state": line.state}
    record(by, "pulled", piece.subject, after=told, happened=happened)
    return line


@transaction.atomic
def put_back(*, by: User, line: LoanLine) -> LoanLine:
    """Take a pulled piece off the pile again: it is still to pull."""
    require(by, Ability.PULL)
    must_be(line.loan, Loan.State.PULLING)
    refuse_when_signed(line.loan)
    if line.state != _S.PULLED:
        raise WrongState(f"{line.piece} is not pulled.")
    line.state = _S.TO_PULL
    keep(line)
    record(by, "put back", line.piece.subject, after={"loan": line.loan.reference, "loan_state": line.state})
    return line


@transaction.atomic
def send_loan(
    *,
    by: User,
    loan: Loan,
    taken_by: str,
    out_on: date | None = None,
    leave_behind: Collection[str] = (),
    reason: str = "",
) -> Loan:
    """The pulled pieces leave with whoever takes custody. `leave_behind`: the numbers that stay, with one reason.

    Raises Refused while a piece is neither pulled nor left behind, and when nothing would leave; WrongState for a piece
    that open pest work or quarantine keeps where it is; AlreadyHeld when the loan leaves before its hold begins and
    another job holds a piece on those days.
    """
    require(by, Ability.PULL)
    must_be(loan, Loan.State.PULLING)
    refuse_unless_past(out_on=out_on)
    if not taken_by.strip():
        raise Refused("Write who takes the pieces.", field="taken_by")
    lines = list(loan.lines.select_related("piece").exclude(state=_S.LEFT_BEHIND))
    going, staying = _sort_out(lines, {number.casefold() for number in leave_behind})
    reason = reason.strip()
    if staying and not reason:
        raise Refused("Say why they stay behind.", field="reason")
    if staying:
        refuse_when_signed(loan)
    lock_rows(Piece.objects.filter(pk__in=[line.piece_id for line in lines]))
    refuse_kept((line.piece for line in going), "sent out")
    _note_what_leaves(going)
    day = out_on or clock.today()
    if loan.hold is not None:
        reach_back(by=by, hold=loan.hold, pieces=[line.piece for line in going], from_day=day)
    for line in staying:
        line.state, line.result_note = _S.LEFT_BEHIND, reason
        keep(line)
        said = {"loan": loan.reference, "loan_state": line.state}
        record(by, "left behind", line.piece.subject, after=said, reason=reason)
    for line in going:
        line.state = _S.OUT
        keep(line)
        storage.send_out(by=by, piece=line.piece, to=None, reason=f"{loan.reference} to {loan.to_whom}")
        record(by, "went out", line.piece.subject, after={"loan": loan.reference, "loan_state": line.state})
    loan.state, loan.taken_by, loan.out_on = Loan.State.OUT, taken_by.strip(), day
    keep(loan)
    record(
        by,
        "went out",
        loan.subject,
        after={
            "state": loan.state,
            "out_on": loan.out_on,
            "taken_by": loan.taken_by,
            "pieces": [line.piece.number for line in going],
            "left_behind": [line.piece.number for line in staying],
        },
        reason="; ".join(part for part in (loan_queries.early_words(loan, day), reason) if part),
    )
    return loan


@transaction.atomic
def call_off_loan(*, by: User, loan: Loan, reason: str) -> Loan:
    """Give up a loan that never left: everything stays, the hold stands."""
    require(by, Ability.PULL)
    must_be(loan, Loan.State.PULLING)
    if not reason.strip():
        raise Refused("Say why the loan is called off.", field="reason")
    lock_rows(Piece.objects.filter(loan_lines__loan=loan))
    for line in loan.lines.select_related("piece").exclude(state=_S.LEFT_BEHIND):
        line.state = _S.LEFT_BEHIND
        keep(line)
        record(by, "left behind", line.piece.subject, after={"loan": loan.reference, "loan_state": line.state})
    loan.state, loan.closed_on = Loan.State.CLOSED, clock.today()
    keep(loan)
    record(by, "called off", loan.subject, after={"state": loan.state}, reason=reason.strip())
    return loan


def _substitute(by: User, loan: Loan, piece: Piece, instead_of: Piece, reason: str) -> LoanLine:
    """A line for the other piece. The hold takes it for the days that are left and lets the first one go."""
    missing = loan.lines.select_related("piece").filter(piece=instead_of, state=_S.TO_PULL).first()
    if missing is None:
        raise Refused(f"{instead_of} is not waiting to be pulled for {loan}.", field="substitute_for")
    if not reason:
        raise Refused(f"Say why {piece} goes instead of {instead_of}.", field="reason")
    _must_be_in_store(piece)
    blockers = wear_blockers(piece) if loan.call and loan.call.wearers.exists() else ()
    if blockers:
        raise Refused(f"{piece} may not be worn: {' '.join(blockers)}", field="code")
    today = clock.today()
    if loan.hold is not None:
        add_to_hold(by=by, hold=loan.hold, piece=piece, from_day=today)
        rows = list(
            HoldPiece.objects.select_related("piece").filter(hold=loan.hold, piece=instead_of, released_on=None)
        )
        let_go(by=by, hold=loan.hold, rows=rows, reason=f"{piece} goes instead: {reason}", free_from=today)
    missing.state = _S.LEFT_BEHIND
    keep(missing)
    line = keep(
        LoanLine(
            loan=loan,
            piece=piece,
            wearer=missing.wearer,
            substitute_for=instead_of,
            substitute_reason=reason,
            order=missing.order,
        )
    )
    said = {"loan": loan.reference, "substitute": f"{piece} for {instead_of}"}
    record(by, "stood in", piece.subject, after=said, reason=reason)
    record(by, "was replaced", instead_of.subject, after=said, reason=reason)
    return line


def must_be(loan: Loan, state: str) -> None:
    """Ask the database, not the object in hand, and keep others from changing it meanwhile."""
    now = Loan.objects.select_for_update(of=("self",)).get(pk=loan.pk)
    if now.state != state:
        raise WrongState(f"{loan} is {now.get_state_display()}.")
    loan.state = now.state


def _must_be_in_store(piece: Piece) -> None:
    standing = Standing.objects.filter(piece=piece).first()
    if standing is None:
        raise WrongState(f"{piece} has no place yet: receive it into the store first.", field="code")
    if standing.state != State.IN_STORE:
        raise WrongState(f"{piece} is recorded as {standing.state}, not in store: put that right first.", field="code")
    refuse_kept([piece], "pulled", field="code")


def _sort_out(lines: list[LoanLine], staying: set[str]) -> tuple[list[LoanLine], list[LoanLine]]:
    """What goes and what stays; raises Refused when a line is in neither pile."""
    stays = [line for line in lines if line.piece.number.casefold() in staying]
    unknown = staying - {line.piece.number.casefold() for line in stays}
    if unknown:
        raise Refused(f"{', '.join(sorted(unknown)).upper()} is not on this loan.", field="leave_behind")
    goes = [line for line in lines if line not in stays]
    unsaid = [line.piece.number for line in goes if line.state == _S.TO_PULL]
    if unsaid:
        more = f" and {len(unsaid) - 5} more" if len(unsaid) > 5 else ""
        raise Refused(
            f"Not pulled yet: {', '.join(unsaid[:5])}{more}. Pull them, or leave them behind with a reason.",
            field="leave_behind",
        )
    if not goes:
        raise Refused("Nothing is pulled: a loan of no pieces cannot leave.")
    return goes, stays


def _note_what_leaves(lines: list[LoanLine]) -> None:
    """The grade of each piece as it leaves, and the parts that must come home with it."""
    ids = [line.piece_id for line in lines]
    grades: dict[int, int] = {}
    reports = ConditionReport.objects.filter(piece_id__in=ids).order_by("reported_at", "id")
    for piece_id, grade in reports.values_list("piece_id", "grade"):
        grades[piece_id] = grade
    parts: dict[int, list[Part]] = {}
    for part in Part.objects.filter(piece_id__in=ids, missing_since=None):
        parts.setdefault(part.piece_id, []).append(part)
    for line in lines:
        line.out_grade = grades.get(line.piece_id)
    PartReturn.objects.bulk_create(
        PartReturn(line=line, part=part) for line in lines for part in parts.get(line.piece_id, ())
    )
