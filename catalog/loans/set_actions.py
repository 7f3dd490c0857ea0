"""On set: a piece is signed out to a performer's number and in again. Names never enter the history."""

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.queries import wear_state
from catalog.core import clock
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Overtaken, Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import lock_rows
from catalog.loans.calc.sign_out import against_sign_out
from catalog.loans.models import LoanLine, SignOut, Wearer
from catalog.pieces.calc.kinds import KINDS
from catalog.pieces.models import Piece

_S = LoanLine.State
_NEVER_LEFT = {_S.TO_PULL, _S.PULLED, _S.LEFT_BEHIND}


@transaction.atomic
def sign_out_piece(
    *, by: User, line: LoanLine, wearer: Wearer, happened: datetime | None = None, anyway: bool = False
) -> LoanLine:
    """The performer puts it on. `happened`: the moment of an act that was sent late. `anyway`: it changes hands.

    Raises WrongState when somebody has it already, it is not with the loan, or there is newer news of it; Refused for
    what may not be worn, and as a question (field `anyway`) for what is meant for another performer.
    """
    require(by, Ability.SIGN_OUT)
    refuse_unless_past(happened=happened)
    line = locked(line)
    if line.loan.call_id is None or wearer.call_id != line.loan.call_id:
        raise Refused(f"Performer {wearer.number} is not on the list of this loan's call.", field="wearer")
    if line.state == _S.ON_SET:
        who = f"performer {line.wearer.number}" if line.wearer else "somebody"
        raise WrongState(f"{line.piece} is signed out to {who} already.", field="code")
    refuse_what_is_not_here(line)
    at = happened or clock.now()
    _refuse_older_than_the_news(line, at)
    refuse_unless_wearable(line)
    if line.wearer is not None and line.wearer_id != wearer.pk and not anyway:
        raise Refused(other_performer(line.piece, line.wearer, wearer), field="anyway")
    line.state, line.wearer = _S.ON_SET, wearer
    keep(line)
    keep(SignOut(line=line, wearer=wearer, out_at=at, out_by=by))
    record(by, "signed out", line.piece.subject, after=_facts(line), happened=happened)
    return line


@transaction.atomic
def sign_in_piece(*, by: User, line: LoanLine, happened: datetime | None = None) -> LoanLine:
    """The performer gives it back; it stays on the performer's line."""
    require(by, Ability.SIGN_OUT)
    refuse_unless_past(happened=happened)
    line = locked(line)
    if line.state != _S.ON_SET:
        refuse_what_is_not_here(line)
        raise WrongState(f"{line.piece} is not signed out.", field="code")
    at = happened or clock.now()
    _refuse_older_than_the_news(line, at)
    line.state = _S.OUT
    keep(line)
    end_sign_out(by=by, line=line, at=at)
    record(by, "signed in", line.piece.subject, after=_facts(line), happened=happened)
    return line


@transaction.atomic
def give_to(*, by: User, line: LoanLine, wearer: Wearer | None) -> LoanLine:
    """Say for whom a piece is meant, before it is signed out; None: for nobody in particular."""
    require(by, Ability.SIGN_OUT)
    line = locked(line)
    if wearer is not None and wearer.call_id != line.loan.call_id:
        raise Refused(f"Performer {wearer.number} is not on the list of this loan's call.", field="wearer")
    if line.state not in {_S.TO_PULL, _S.PULLED, _S.OUT}:
        raise WrongState(f"{line.piece} is {line.get_state_display()}.")
    line.wearer = wearer
    keep(line)
    record(by, "meant for", line.piece.subject, after=_facts(line))
    return line


def end_sign_out(*, by: User, line: LoanLine, at: datetime) -> None:
    """Whoever had the piece has it no more, signed in or only counted at the dock; its clock stops with it."""
    for row in line.sign_outs.filter(in_at=None):
        row.in_at, row.in_by = max(at, row.out_at), by
        keep(row)
    for spell in line.spells.filter(stopped_at=None):
        spell.stopped_at = max(at, spell.started_at)
        keep(spell)


def other_performer(piece: Piece, meant: Wearer, asked: Wearer) -> str:
    """The question to whoever gives a piece to somebody it is not meant for."""
    return f"{piece.number} is performer {meant.number}'s. Give it to performer {asked.number} all the same?"


def refuse_what_is_not_here(line: LoanLine) -> None:
    """Raises WrongState for what is not at the set: it never left, or it is home again."""
    if line.state in _NEVER_LEFT:
        never = f"{line.piece} never left with {line.loan}: it is {line.get_state_display()}."
        raise WrongState(never, field="code")
    if line.state not in {_S.OUT, _S.ON_SET}:
        gone = f"{line.piece} is {line.get_state_display()}: only what is out can be signed out."
        raise WrongState(gone, field="code")


def refuse_unless_wearable(line: LoanLine) -> None:
    """Raises Refused with why the piece stays in; nobody at the set can lift it."""
    state = wear_state([line.piece])[line.piece_id]
    if against := against_sign_out(line.piece.number, state, worn=KINDS[line.piece.kind].worn):
        raise Refused(against, field="code")


def locked(line: LoanLine) -> LoanLine:
    """The line as it stands now; two phones that sign out the same piece come one after the other."""
    lock_rows(Piece.objects.filter(pk=line.piece_id))
    rows = LoanLine.objects.select_for_update(of=("self",)).select_related("loan", "piece__production", "wearer")
    return rows.get(pk=line.pk)


def _refuse_older_than_the_news(line: LoanLine, at: datetime) -> None:
    """A late act never undoes silently what happened after it."""
    for row in line.sign_outs.select_related("wearer").order_by("-out_at")[:1]:
        if row.in_at is not None and row.in_at > at:
            news, when = "came in from", row.in_at
        elif row.out_at > at:
            news, when = "went out to", row.out_at
        else:
            return
        raise Overtaken(
            f"There is newer news of {line.piece}: it {news} performer {row.wearer.number} at "
            f"{timezone.localtime(when):%H:%M on %-d %b}.",
            field="code",
        )


def _facts(line: LoanLine) -> dict[str, object]:
    return {
        "loan": line.loan.reference,
        "loan_state": line.state,
        "performer": line.wearer.number if line.wearer else "",
    }
