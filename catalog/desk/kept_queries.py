"""What arrived late and waits for a decision: scans that move something, and acts that other pages sent."""

from django.db.models import QuerySet

from catalog.access.models import User
from catalog.access.permissions import ADDRESSES, Ability, can
from catalog.core.lanes import kept_acts, lanes
from catalog.core.sent_models import SentAct
from catalog.storage import scan_queries


def kept_for(user: User) -> "QuerySet[SentAct]":
    """Kept acts that this person may decide: whoever may send such an act may decide on it."""
    return kept_acts().filter(lane__in=[lane.name for lane in lanes() if _may(user, lane.address)])


def how_many_kept(user: User) -> int:
    """Kept scans and kept acts together."""
    return scan_queries.waiting(user).count() + kept_for(user).count()


def _may(user: User, address: str) -> bool:
    needed = ADDRESSES.get(address)
    return isinstance(needed, Ability) and can(user, needed)
