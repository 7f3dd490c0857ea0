"""How far a call has come: which of its pieces are pencilled, held, pulled, out, home."""

from datetime import date

from catalog.loans import queries
from catalog.loans.calc.progress import Line, Progress, progress_of
from catalog.loans.models import Call, Hold, HoldPiece, Loan, LoanLine


def progress_of_call(call: Call, today: date) -> Progress:
    """Where the pieces of the call are now, each counted once; two queries."""
    holds = queries.living(Hold.objects.filter(call=call), today).filter(ends__gte=today)
    rows = HoldPiece.objects.filter(hold__in=holds, released_on=None).values_list("piece_id", "hold__strength")
    firm: set[int] = set()
    pencilled: set[int] = set()
    for piece_id, strength in rows:
        (firm if strength == Hold.Strength.FIRM else pencilled).add(piece_id)
    lines = LoanLine.objects.filter(loan__call=call).order_by("loan__made_at", "loan_id", "pk")
    told = lines.values_list("piece_id", "state", "loan__state")
    return progress_of(
        firm, pencilled, [Line(piece_id, state, loan == Loan.State.CLOSED) for piece_id, state, loan in told]
    )
