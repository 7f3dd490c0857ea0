"""Saying which way a call's shipment goes."""

from collections.abc import Sequence
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.loans.models import Call
from catalog.shipping.calc import routes
from catalog.shipping.models import Route


@transaction.atomic
def set_route(
    *,
    by: User,
    call: Call,
    start: str,
    goal: str,
    through: Sequence[str] = (),
    comes_back: bool | None = None,
    wood: str = "",
) -> Route:
    """Keep the countries of a journey; None and "" are not known. Raises Refused for what is no country's code."""
    require(by, Ability.SEE_TRAVEL)
    call = Call.objects.select_for_update().get(pk=call.pk)
    if call.state != Call.State.OPEN:
        raise WrongState(f"{call.reference} is closed; its route stays as it was.")
    try:
        routes.Route(start, goal, tuple(through), comes_back, wood or None)
    except ValueError as wrong:
        raise Refused(str(wrong), field="through") from wrong
    row = Route.objects.filter(call=call).first() or Route(call=call)
    before = _told(row) if row.pk else None
    row.start, row.goal, row.through, row.comes_back, row.wood = start, goal, list(through), comes_back, wood
    if before == _told(row):
        return row
    keep(row)
    record(by, "said the route", call.subject, before=before, after=_told(row))
    return row


def _told(row: Route) -> dict[str, Any]:
    return {"route": str(row), "comes_back": row.comes_back, "wood": row.wood}
