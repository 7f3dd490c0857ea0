"""Pulling what lies together: a trunk or a shelf is scanned, and what the loan asks for in it is taken at once."""

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.errors import Refused
from catalog.core.locks import lock_rows
from catalog.loans import loan_queries
from catalog.loans.loan_actions import must_be, pull_piece
from catalog.loans.models import Loan, LoanLine
from catalog.pieces.models import Piece
from catalog.storage.models import Place


@transaction.atomic
def pull_from(*, by: User, loan: Loan, place: Place) -> tuple[list[LoanLine], list[str]]:
    """Tick off every piece of the list that lies in the place; also gives a sentence for each that may not be taken.

    Raises Refused when nothing of the list lies there.
    """
    require(by, Ability.PULL)
    wanted = loan_queries.wanted_in(loan, place)
    if not wanted:
        raise Refused(f"{loan_queries.what_it_is(place)}. Nothing that is still to pull lies in it.", field="code")
    must_be(loan, Loan.State.PULLING)
    lock_rows(Piece.objects.filter(pk__in=[line.piece_id for line in wanted]))
    taken, refused = [], []
    for line in wanted:
        try:
            taken.append(pull_piece(by=by, loan=loan, code_or_number=line.piece.number))
        except Refused as error:
            refused.append(error.sentence)
    return taken, refused
