"""Looking at a piece and finding it unchanged: one tap."""

from datetime import date

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.models import ConditionReport, Inspection
from catalog.core import history
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused
from catalog.core.locks import lock_rows
from catalog.pieces.models import Piece


@transaction.atomic
def seen_no_change(*, by: User, piece: Piece, looked_on: date) -> Inspection:
    """Somebody looked and nothing has changed. Told twice on one day, it is kept once.

    Raises Refused while nobody has reported on the piece: then there is nothing that it could be unchanged from.
    """
    require(by, Ability.DECIDE_WEAR)
    refuse_unless_past(looked_on=looked_on)
    lock_rows(Piece.objects.filter(pk=piece.pk))
    kept = Inspection.objects.filter(piece=piece, looked_on=looked_on).first()
    if kept is not None:
        return kept
    if not ConditionReport.objects.filter(piece=piece).exists():
        raise Refused(f"Nobody has reported on {piece.number} yet: write its first condition report.")
    row = keep(Inspection(piece=piece, looked_on=looked_on, looked_by=by))
    history.record(by, "looked at, no change", piece.subject, after={"looked_on": looked_on})
    return row
