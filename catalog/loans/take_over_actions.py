"""A loan that had left before it was recorded here: taken over from an old list as it stands."""

from datetime import date

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import lock_rows
from catalog.loans import queries
from catalog.loans.models import Hold, Loan, LoanLine, PartReturn
from catalog.pieces.models import Part, Piece
from catalog.storage.models import Standing, State


@transaction.atomic
def take_over_loan(*, by: User, hold: Hold, taken_by: str, out_on: date, due_on: date | None = None) -> Loan:
    """A loan of a firm hold whose pieces are out already, with a line a piece and a count a part.

    `due_on` None: the last day of use. Raises WrongState for a pencil and for a piece that is not recorded as out.
    """
    require(by, Ability.PULL)
    refuse_unless_past(out_on=out_on)
    if hold.strength != Hold.Strength.FIRM:
        raise WrongState(f"{hold} is a pencil: only what is firmly held can be out.")
    if not taken_by.strip():
        raise Refused("Write who took the pieces.", field="taken_by")
    pieces = [row.piece for row in hold.pieces.filter(released_on=None).select_related("piece").order_by("piece")]
    lock_rows(Piece.objects.filter(pk__in=[piece.pk for piece in pieces]))
    out = set(Standing.objects.filter(piece__in=pieces, state=State.OUT).values_list("piece_id", flat=True))
    if here := [piece.number for piece in pieces if piece.pk not in out]:
        raise WrongState(f"{', '.join(here[:5])} is not recorded as out.", field="pieces")
    loan = keep(
        Loan(
            reference=queries.next_loan_reference(hold),
            call=hold.call,
            hold=hold,
            to_whom=hold.for_whom,
            state=Loan.State.OUT,
            out_on=out_on,
            due_on=due_on or hold.use_to,
            taken_by=taken_by.strip(),
        )
    )
    for order, piece in enumerate(pieces, 1):
        report = piece.reports.first()
        grade = report.grade if report else None
        line = keep(LoanLine(loan=loan, piece=piece, state=LoanLine.State.OUT, out_grade=grade, order=order))
        for part in Part.objects.filter(piece=piece, missing_since=None):
            keep(PartReturn(line=line, part=part))
        record(by, "was out already", piece.subject, after={"loan": loan.reference, "loan_state": line.state})
    numbers = [piece.number for piece in pieces]
    facts = {"reference": loan.reference, "to_whom": loan.to_whom, "hold": hold.reference, "state": loan.state}
    record(by, "taken over", loan.subject, after={**facts, "out_on": out_on, "due_on": loan.due_on, "pieces": numbers})
    return loan
