"""Taking a rescue list: who took one and when is kept, because it tells a thief where to go first."""

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.errors import Refused
from catalog.core.history import record
from catalog.storage.models import Place
from catalog.storage.rescue_queries import Rescue, rescue_of


def take_rescue_list(*, by: User, place: Place) -> Rescue:
    """The list of the place, with a history line that it was taken. Raises Refused when nothing lies there."""
    require(by, Ability.RESCUE)
    found = rescue_of(place)
    if not found.rows and not found.boxes:
        raise Refused(f"{place.code} holds nothing in store: there is no rescue list to print.")
    with transaction.atomic():
        record(by, "rescue list printed", place.subject, reason=f"{len(found.rows)} pieces")
    return found
