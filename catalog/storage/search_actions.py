"""Searching for a missing thing: each searched place is a row of the log and a line of the thing's history."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.storage import standing as shared
from catalog.storage import tree
from catalog.storage.missing_actions import mark_found
from catalog.storage.missing_models import SearchLine, SearchThoroughness
from catalog.storage.models import MissingFile, Place
from catalog.storage.standing import Telling


def log_search(
    *,
    by: User,
    file: MissingFile,
    place: Place,
    thoroughness: str = SearchThoroughness.THROUGH,
    note: str = "",
    happened: datetime | None = None,
    client_id: UUID | None = None,
    by_name: str = "",
) -> SearchLine:
    """A place was searched and the thing was not there. A repeated client id adds nothing.

    Raises WrongState when the thing is no longer looked for, Refused for a place inside the lost container itself.
    """
    require(by, Ability.MOVE)
    telling = Telling(by, note, happened, None, by_name)
    with transaction.atomic():
        file = _held(file)
        before = SearchLine.objects.filter(client_id=client_id).first() if client_id else None
        if before is not None:
            return before
        if file.closed_on is not None:
            raise WrongState("This missing file is closed: the thing was found.")
        if file.container is not None and place.pk in tree.ids_under(file.container):
            raise Refused(f"{place.code} is in what is looked for: name the place that was searched.", field="place")
        line = _keep_line(file, place, telling, thoroughness, found=False, client_id=client_id)
        words = f"{place.code} {line.get_thoroughness_display()}, not found"
        thing = file.piece or file.container
        if thing is not None:
            shared.tell(telling, "searched", thing, {}, {"search": words})
    return line


def find_here(*, by: User, file: MissingFile, place: Place, thoroughness: str, note: str = "") -> SearchLine:
    """The missing piece was found where it was looked for; its file is closed. A container is found by its own action.

    Raises WrongState when it is no longer looked for or the place is not fit for it.
    """
    require(by, Ability.MOVE)
    if file.piece is None:
        raise TypeError("a container is counted when it is found: mark_found")
    with transaction.atomic():
        file = _held(file)
        if file.closed_on is not None:
            raise WrongState("This missing file is closed: the thing was found.")
        mark_found(by=by, piece=file.piece, at=place, note=note or "found where it was looked for")
        return _keep_line(file, place, Telling(by, note), thoroughness, found=True)


def _held(file: MissingFile) -> MissingFile:
    """The file as it is now. What it is about is held first, as every action does it, so that none waits crosswise."""
    if file.piece is not None:
        shared.standing_to_change(file.piece)
    elif file.container is not None:
        shared.container_to_change(file.container)
    return MissingFile.objects.select_related("piece", "container").get(pk=file.pk)


def _keep_line(
    file: MissingFile,
    place: Place,
    telling: Telling,
    thoroughness: str,
    *,
    found: bool,
    client_id: UUID | None = None,
) -> SearchLine:
    line = SearchLine(
        file=file,
        place=place,
        happened=telling.when,
        by=telling.by,
        by_name=telling.who,
        thoroughness=thoroughness,
        found=found,
        note=telling.reason,
        client_id=client_id,
    )
    return keep(line)
