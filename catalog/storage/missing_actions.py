"""A piece or a container that nobody can find, and the day it turns up. A missing file is never deleted."""

from collections.abc import Collection
from datetime import date, datetime

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.locks import alone
from catalog.pieces.models import Piece
from catalog.storage import standing as shared
from catalog.storage import tree
from catalog.storage.label_actions import replace_label
from catalog.storage.models import Label, MissingFile, Place, Standing, State
from catalog.storage.move_actions import lose_content
from catalog.storage.place_actions import refuse_inside_itself
from catalog.storage.standing import Telling


def mark_missing(
    *,
    by: User,
    piece: Piece | None = None,
    container: Place | None = None,
    note: str = "",
    last_place: Place | None = None,
    last_seen: date | None = None,
    happened: datetime | None = None,
    by_name: str = "",
) -> MissingFile:
    """Open the missing file of a piece, or of a container with all that lies in it (each thing gets its line).

    `last_place` and `last_seen` are what is surely known, else the present record. A lost container keeps its content.
    Raises WrongState when it is being looked for already.
    """
    require(by, Ability.MOVE)
    refuse_unless_past(last_seen=last_seen)
    telling = Telling(by, note, happened, None, by_name)
    with transaction.atomic():
        if container is not None and piece is None:
            return _lose_container(container, telling, last_place, last_seen)
        if piece is None or container is not None:
            raise TypeError("name a piece or a container")
        standing = shared.standing_to_change(piece) or Standing(piece=piece, state=State.NOT_FOUND)
        file = _open_file(telling, last_place or standing.place, last_seen or standing.last_seen, piece=piece)
        before = {"place": standing.place, "state": standing.state}
        lost_inside = standing.place is not None and standing.place.state == State.NOT_FOUND
        standing.place = standing.place if lost_inside else None
        standing.state, standing.since = State.NOT_FOUND, telling.when
        standing.last_seen = file.last_seen
        keep(standing)
        after = {"place": standing.place, "state": standing.state, "missing": "file opened"}
        shared.tell(telling, "not found", piece, before, after)
    return file


def mark_found(
    *,
    by: User,
    at: Place,
    piece: Piece | None = None,
    container: Place | None = None,
    note: str = "",
    counted: Collection[Piece] | None = None,
    happened: datetime | None = None,
    by_name: str = "",
) -> MissingFile | None:
    """A missing piece or container stands at a place again; its missing file, if it has one, is closed.

    With a container its content is in store again: all of it, or only the pieces in `counted`; whatever was not
    counted stays not found and gets a missing file of its own. Raises WrongState when the thing is not missing.
    """
    require(by, Ability.MOVE)
    telling = Telling(by, note, happened, None, by_name)
    with transaction.atomic():
        if container is not None and piece is None:
            return _find_container(container, at, telling, counted)
        if piece is None or container is not None:
            raise TypeError("name a piece or a container")
        standing = shared.standing_to_change(piece)
        if standing is None or standing.state != State.NOT_FOUND:
            raise WrongState(f"{piece.number} is not missing: move it instead.")
        shared.refuse_unfit(at, shared.in_quarantine(piece=piece))
        shared.keep_move(telling, standing.place, at, piece=piece)
        shared.stand(standing, telling, "found", at, State.IN_STORE)
        return _close_file(telling, at, piece=piece)


def find_relabelled(
    *, by: User, container: Place, at: Place, reads: str, note: str = "", counted: Collection[Piece] | None = None
) -> Label:
    """A missing container turned up under a label that says another: it is found, and its own label is made anew.

    One act. What the label read is told in its history; an old label of its own still leads to it.
    """
    require(by, Ability.RECORD)
    why = f"its label read {reads}"
    with transaction.atomic():
        mark_found(by=by, container=container, at=at, note=f"{why}. {note}" if note else why, counted=counted)
        return replace_label(by=by, place=container, reason=why)


def _lose_container(
    container: Place, telling: Telling, last_place: Place | None, last_seen: date | None
) -> MissingFile:
    if not container.is_container:
        raise Refused(f"{container.code} is a {container.get_kind_display()}: it cannot get lost.")
    alone("tree")
    container = shared.container_to_change(container)
    file = _open_file(telling, last_place or container.parent, last_seen or container.last_seen, container=container)
    before = {"parent": container.parent, "state": container.state}
    lose_content(container, telling)
    lost_inside = container.parent is not None and container.parent.state == State.NOT_FOUND
    container.parent = container.parent if lost_inside else None
    container.state, container.last_seen = State.NOT_FOUND, file.last_seen
    keep(container)
    after = {"parent": container.parent, "state": container.state, "missing": "file opened"}
    shared.tell(telling, "not found", container, before, after)
    return file


def _find_container(
    container: Place, at: Place, telling: Telling, counted: Collection[Piece] | None
) -> MissingFile | None:
    alone("tree")
    container = shared.container_to_change(container)
    if container.state != State.NOT_FOUND:
        raise WrongState(f"{container.code} is not missing: move it instead.")
    refuse_inside_itself(container, at)
    shared.refuse_unfit(at, shared.in_quarantine(container=container))
    before = {"parent": container.parent, "state": container.state}
    shared.keep_move(telling, container.parent, at, container=container)
    container.parent, container.state = at, State.IN_STORE
    shared.saw(container, telling)
    keep(container)
    shared.tell(telling, "found", container, before, {"parent": at, "state": container.state})
    _find_content(container, telling, None if counted is None else {piece.pk for piece in counted})
    return _close_file(telling, at, container=container)


def _find_content(container: Place, telling: Telling, counted: set[int] | None) -> None:
    """Bring the content back as counted; boxes inside come back with their container."""
    quiet = Telling(telling.by, f"in {container.code}", telling.happened, None, telling.by_name)
    inside = tree.under(container)
    for box in (
        inside.exclude(pk=container.pk).filter(state=State.NOT_FOUND).select_for_update(no_key=True, of=("self",))
    ):
        box.state = State.IN_STORE
        shared.saw(box, quiet)
        keep(box)
        shared.tell(quiet, "found", box, {"state": State.NOT_FOUND}, {"state": box.state})
        _close_file(quiet, container, container=box)
    lost = Piece.objects.filter(standing__place__in=inside, standing__state=State.NOT_FOUND).order_by("pk")
    for piece in lost.select_for_update(no_key=True, of=("self",)):
        standing = Standing.objects.select_related("place", "home").get(piece=piece)
        if counted is None or piece.pk in counted:
            shared.stand(standing, quiet, "found", standing.place, State.IN_STORE)
            _close_file(quiet, container, piece=piece)
        else:
            _leave_lost(standing, quiet, container)


def _leave_lost(standing: Standing, telling: Telling, container: Place) -> None:
    """The container was found without this piece: from now on the piece is looked for by itself."""
    if not MissingFile.objects.filter(piece=standing.piece, closed_on__isnull=True).exists():
        _open_file(telling, standing.place, standing.last_seen, piece=standing.piece)
    before = {"place": standing.place}
    standing.place = None
    keep(standing)
    why = f"{container.code} was found; it was not counted in it"
    short = Telling(telling.by, why, telling.happened, None, telling.by_name)
    shared.tell(short, "not found", standing.piece, before, {"place": None, "missing": "file opened"})


def _open_file(
    telling: Telling,
    last_place: Place | None,
    last_seen: date | None,
    *,
    piece: Piece | None = None,
    container: Place | None = None,
) -> MissingFile:
    thing = piece or container
    if MissingFile.objects.filter(piece=piece, container=container, closed_on__isnull=True).exists():
        raise WrongState(f"{thing} is being looked for already.")
    file = MissingFile(piece=piece, container=container, opened_on=telling.day, note=telling.reason)
    file.last_place, file.last_seen = last_place, last_seen
    keep(file)
    return file


def _close_file(
    telling: Telling, at: Place, *, piece: Piece | None = None, container: Place | None = None
) -> MissingFile | None:
    file = MissingFile.objects.filter(piece=piece, container=container, closed_on__isnull=True).first()
    if file is not None:
        file.closed_on, file.outcome = max(telling.day, file.opened_on), f"found at {at.code}"
        keep(file)
    return file
