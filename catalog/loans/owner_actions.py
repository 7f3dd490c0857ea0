"""What is not ours goes back to its owner instead of onto a shelf: what was hired in, what is a performer's own."""

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care import actions as care
from catalog.care.models import Alteration, Quarantine
from catalog.core import clock
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import lock_rows
from catalog.loans.models import LoanLine
from catalog.pieces.models import Piece
from catalog.storage import actions as storage

_S = LoanLine.State


@transaction.atomic
def give_back(*, by: User, line: LoanLine) -> LoanLine:
    """Hand a piece that is not ours to its owner: the line is done, and the piece is out of the store.

    It need not serve our quarantine, which keeps our shelves clean. Raises Refused for a piece of ours and for one with
    an alteration open, WrongState before it came home. Whose it is never enters the history.
    """
    require(by, Ability.PUT_AWAY)
    lock_rows(Piece.objects.filter(pk=line.piece_id))
    line = LoanLine.objects.select_for_update(of=("self",)).select_related("loan", "piece").get(pk=line.pk)
    piece = line.piece
    if piece.owner == Piece.Owner.OURS:
        raise Refused(f"{piece} is ours: put it away.")
    if line.state not in {_S.QUARANTINED, _S.BACK}:
        raise WrongState(f"{piece} is {line.get_state_display()}.")
    altered = [row.what for row in Alteration.objects.filter(piece=piece, undone_on=None).order_by("id")]
    if altered:
        raise Refused(f"{piece} is still altered ({'; '.join(altered)}): undo it first.")
    if Quarantine.objects.filter(piece=piece, released_on=None).exists():
        care.release_quarantine(by=by, piece=piece, released_on=clock.today(), findings="not ours: it leaves the store")
    storage.send_out(by=by, piece=piece, to=None, reason=f"back to its owner after {line.loan}")
    line.state = _S.WENT_BACK
    keep(line)
    after = {"loan": line.loan.reference, "loan_state": line.state}
    record(by, "went back to its owner", piece.subject, after=after)
    return line
