"""What came with a loan and is on no line of it."""

from catalog.core.errors import Refused
from catalog.loans import loan_queries
from catalog.loans.models import Loan, LoanLine, Unlisted


def unlisted_of(loan: Loan) -> list[Unlisted]:
    """Every unlisted line of the loan, with the loan that a piece of ours belongs to. One query."""
    return list(loan.unlisted.select_related("from_line__loan", "from_line__piece", "file").order_by("id"))


def line_elsewhere(loan: Loan, code: str) -> LoanLine | None:
    """The open line of another loan for what was scanned; None for anything else, also for what cannot be read."""
    try:
        piece = loan_queries.scanned_piece(code)
    except Refused:
        return None
    if loan.lines.filter(piece=piece).exists():
        return None
    rows = LoanLine.objects.select_related("loan", "piece").filter(piece=piece, state__in=loan_queries.MAY_RETURN)
    return rows.exclude(loan__state=Loan.State.CLOSED).first()
