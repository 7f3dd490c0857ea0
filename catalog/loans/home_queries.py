"""What came home otherwise than it was sent, and waits for somebody to look at it."""

from datetime import date, timedelta

from django.db.models import Exists, OuterRef, Q, QuerySet

from catalog.care.models import ConditionReport, WearDecision
from catalog.loans.models import HoldPiece, Loan, LoanLine
from catalog.pieces.models import Piece

_NOT_AS_SENT = [LoanLine.Result.CHANGED, LoanLine.Result.INCOMPLETE]


def to_look_at() -> "QuerySet[Piece]":
    """Pieces whose wear decision is in question; and of those nobody ever decided on, the ones that came home changed
    or incomplete and have not been reported on since.
    """
    current = WearDecision.objects.filter(current=True)
    reported = ConditionReport.objects.filter(piece=OuterRef("piece"), reported_at__gte=OuterRef("back_at"))
    unseen = LoanLine.objects.filter(~Exists(reported), result__in=_NOT_AS_SENT).exclude(
        piece__in=current.values("piece")
    )
    questioned = current.filter(questioned_on__isnull=False)
    return Piece.objects.filter(Q(pk__in=questioned.values("piece")) | Q(pk__in=unseen.values("piece")))


def closing_of(loan: Loan) -> "QuerySet[HoldPiece]":
    """What closing the loan lets go of its hold: all of it that is still held and was not left behind."""
    done = loan.lines.exclude(state=LoanLine.State.LEFT_BEHIND).values("piece_id")
    rows = HoldPiece.objects.select_related("piece").filter(hold=loan.hold, released_on=None, piece_id__in=done)
    return rows.order_by("piece_id")


def freed_by_closing(loan: Loan, today: date) -> str:
    """What closing today frees for others before the hold would have, as a sentence; empty when nothing."""
    if loan.hold is None or loan.hold.ends < today:
        return ""
    count = closing_of(loan).count()
    if not count:
        return ""
    until = f"{loan.hold.ends + timedelta(days=1):%-d %b %Y}"
    what = "1 piece is" if count == 1 else f"{count} pieces are"
    return f"Hold {loan.hold.reference} lets go with it: {what} free from today, not only from {until}."
