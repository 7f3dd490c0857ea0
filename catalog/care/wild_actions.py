"""Noting a part of an animal or plant in a piece."""

from datetime import date
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.wild_models import WildPart
from catalog.core import history
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused
from catalog.pieces.models import Piece

_FIELDS = ("what", "group", "listing", "obtained_year", "share_percent", "wood_g", "farmed", "named_by")


@transaction.atomic
def record_wild_part(
    *, by: User, piece: Piece, part: WildPart | None = None, gone_on: date | None = None, **facts: Any
) -> WildPart:
    """Keep what is known of a part; with `part`, the present facts of that one. Raises Refused for another piece's."""
    require(by, Ability.DECIDE_WEAR)
    refuse_unless_past(gone_on=gone_on)
    row = WildPart(piece=piece) if part is None else WildPart.objects.select_for_update().get(pk=part.pk)
    if row.piece_id != piece.pk:
        raise Refused("This part belongs to another piece.")
    strange = set(facts) - set(_FIELDS)
    if strange:
        raise ValueError(f"A part of an animal or plant has no {', '.join(sorted(strange))}.")
    before = None if part is None else {"wild_part": _told(row)}
    for name, value in facts.items():
        setattr(row, name, value)
    if not (row.what or row.group):
        raise Refused("Say what it is, or choose the group.", field="what")
    row.gone_on = gone_on
    keep(row)
    verb = "part of an animal or plant taken off" if gone_on else "part of an animal or plant noted"
    history.record(by, verb, piece.subject, before=before, after={"wild_part": _told(row)})
    return row


def _told(row: WildPart) -> dict[str, Any]:
    facts = {name: getattr(row, name) for name in _FIELDS}
    return {name: value for name, value in facts.items() if value not in (None, "")}
