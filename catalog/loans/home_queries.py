"""What came home otherwise than it was sent, and waits for somebody to look at it."""

from django.db.models import Exists, OuterRef, Q, QuerySet

from catalog.care.models import ConditionReport, WearDecision
from catalog.loans.models import LoanLine
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
