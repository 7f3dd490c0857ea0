"""On set: a piece is signed out to a performer's number and in again. Names never enter the history."""

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import lock_rows
from catalog.loans.models import LoanLine, Wearer
from catalog.pieces.models import Piece

_S = LoanLine.State


@transaction.atomic
def sign_out_piece(*, by: User, line: LoanLine, wearer: Wearer) -> LoanLine:
    """The performer puts it on. Raises WrongState when somebody has it already or it is not with the loan."""
    require(by, Ability.SIGN_OUT)
    line = _locked(line)
    if line.loan.call_id is None or wearer.call_id != line.loan.call_id:
        raise Refused(f"Performer {wearer.number} is not on the list of this loan's call.", field="wearer")
    if line.state == _S.ON_SET:
        who = f"performer {line.wearer.number}" if line.wearer else "somebody"
        raise WrongState(f"{line.piece} is signed out to {who} already.")
    if line.state != _S.OUT:
        raise WrongState(f"{line.piece} is {line.get_state_display()}: only what is out can be signed out.")
    line.state, line.wearer = _S.ON_SET, wearer
    keep(line)
    record(by, "signed out", line.piece.subject, after=_facts(line))
    return line


@transaction.atomic
def sign_in_piece(*, by: User, line: LoanLine) -> LoanLine:
    """The performer gives it back; it stays on the performer's line."""
    require(by, Ability.SIGN_OUT)
    line = _locked(line)
    if line.state != _S.ON_SET:
        raise WrongState(f"{line.piece} is not signed out.")
    line.state = _S.OUT
    keep(line)
    record(by, "signed in", line.piece.subject, after=_facts(line))
    return line


@transaction.atomic
def give_to(*, by: User, line: LoanLine, wearer: Wearer | None) -> LoanLine:
    """Say for whom a piece is meant, before it is signed out; None: for nobody in particular."""
    require(by, Ability.SIGN_OUT)
    line = _locked(line)
    if wearer is not None and wearer.call_id != line.loan.call_id:
        raise Refused(f"Performer {wearer.number} is not on the list of this loan's call.", field="wearer")
    if line.state not in {_S.TO_PULL, _S.PULLED, _S.OUT}:
        raise WrongState(f"{line.piece} is {line.get_state_display()}.")
    line.wearer = wearer
    keep(line)
    record(by, "meant for", line.piece.subject, after=_facts(line))
    return line


def _locked(line: LoanLine) -> LoanLine:
    """The line as it stands now; two phones that sign out the same piece come one after the other."""
    lock_rows(Piece.objects.filter(pk=line.piece_id))
    rows = LoanLine.objects.select_for_update(of=("self",)).select_related("loan", "piece", "wearer")
    return rows.get(pk=line.pk)


def _facts(line: LoanLine) -> dict[str, object]:
    return {
        "loan": line.loan.reference,
        "loan_state": line.state,
        "performer": line.wearer.number if line.wearer else "",
    }
