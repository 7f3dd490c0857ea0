"""Receiving, moving, sending out and bringing back. Each keeps the move, the standing, the sighting and the line."""

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.apart_queries import refuse_kept
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import alone
from catalog.pieces.models import Piece
from catalog.storage import standing as shared
from catalog.storage import tree
from catalog.storage.models import MissingFile, Move, Place, PlaceKind, Standing, State
from catalog.storage.place_actions import refuse_inside_itself
from catalog.storage.standing import Telling


def receive_piece(
    *,
    by: User,
    piece: Piece,
    home: Place | None = None,
    place: Place | None = None,
    state: str = State.IN_STORE,
    last_seen: date | None = None,
    last_seen_by: str = "",
    happened: datetime | None = None,
    source: str = "",
) -> Standing:
    """Give a piece its first standing. In store without a place it stands at home.

    With a `source` (an old list) nobody saw it today, so its last sighting is `last_seen` alone. A piece received as
    not found gets its missing file, unless it lies in a container that is not found.
    Raises WrongState when it has a standing, or when the place is not fit for it.
    """
    require(by, Ability.MOVE)
    telling = Telling(by, reason=source, happened=happened)
    with transaction.atomic():
        if shared.standing_to_change(piece) is not None:
            raise WrongState(f"{piece.number} has been received already: move it instead.")
        if state == State.IN_STORE:
            place = place or home
            if place is None:
                raise Refused(f"Say where {piece.number} is: a piece in store has a place.", field="place")
            shared.refuse_unfit(place, shared.in_quarantine(piece=piece))
        standing = Standing(piece=piece, home=home, place=place, state=state, since=telling.when)
        standing.last_seen, standing.last_seen_by = last_seen, last_seen_by
        if last_seen is None and state == State.IN_STORE and not source:
            shared.saw(standing, telling)
        keep(standing)
        if place is not None:
            shared.keep_move(telling, None, place, piece=piece)
        record(
            by,
            "received",
            piece.subject,
            after={"home": home, "place": place, "state": state},
            reason=source,
            happened=happened,
        )
        if state == State.NOT_FOUND and (place is None or place.state != State.NOT_FOUND):
            file = MissingFile(piece=piece, opened_on=telling.day, last_place=place, last_seen=last_seen)
            keep(file)
    return standing


def move_piece(
    *,
    by: User,
    piece: Piece,
    to: Place,
    reason: str = "",
    happened: datetime | None = None,
    client_id: UUID | None = None,
    by_name: str = "",
    only_news: bool = False,
) -> Move:
    """Move a piece to a place or into a container; moving it to where it is counts as a sighting.

    A repeated client id adds nothing and gives the earlier move back. A move dated before what is known already only
    adds to the past, or with `only_news` raises Overtaken. A piece at treatment is in store again once it
    leaves the benches, freezers and quarantine.
    Raises WrongState for a piece that is out or not found, or when the place is not fit for it.
    """
    require(by, Ability.MOVE)
    telling = Telling(by, reason, happened, client_id, by_name)
    with transaction.atomic():
        standing = shared.standing_to_change(piece)
        if (earlier := shared.sent_before(client_id, piece=piece)) is not None:
            return earlier
        if standing is None:
            standing = Standing(piece=piece, state=State.IN_STORE)
        elif only_news:
            shared.refuse_overtaken(telling, piece.number, standing, piece=piece)
        elif shared.is_old_news(telling, standing.last_seen, standing.state, standing.since, piece=piece):
            return shared.keep_old_move(telling, to, piece=piece)
        if standing.state == State.OUT:
            raise WrongState(f"{piece.number} is out: bring it back first, then it can be moved.")
        if standing.state == State.NOT_FOUND:
            raise WrongState(f"{piece.number} is not found: say that it was found, and where.")
        shared.refuse_unfit(to, shared.in_quarantine(piece=piece))
        move = shared.keep_move(telling, standing.place, to, piece=piece, seen=standing)
        state = standing.state
        if state == State.TREATMENT and not any(step.kind in shared.APART for step in tree.path(to)):
            state = State.IN_STORE
        verb = "received" if standing.pk is None else "seen" if standing.place_id == to.pk else "moved"
        shared.stand(standing, telling, verb, to, state)
    return move


def move_container(
    *,
    by: User,
    container: Place,
    to: Place | None,
    reason: str = "",
    happened: datetime | None = None,
    client_id: UUID | None = None,
    by_name: str = "",
    only_news: bool = False,
) -> Move:
    """Move a trunk, crate, box or rail with everything in it: one move, one line; the content stays in it.

    `to=None` means that where it went was written nowhere: it and its content are then not found, because an unknown
    place counts for nobody. A repeated client id gives the earlier move back; an old date only adds to the past, or
    with `only_news` raises Overtaken.
    Raises Refused when it would lie inside itself, WrongState when it is out, not found, or may not go there.
    """
    require(by, Ability.MOVE)
    if not container.is_container:
        raise Refused(f"{container.code} is a {container.get_kind_display()}: it stays where it is.")
    telling = Telling(by, reason, happened, client_id, by_name)
    with transaction.atomic():
        alone("tree")
        container = shared.container_to_change(container)
        if (earlier := shared.sent_before(client_id, container=container)) is not None:
            return earlier
        if only_news:
            shared.refuse_overtaken(telling, container.code, container, container=container)
        elif shared.is_old_news(telling, container.last_seen, container.state, container=container):
            return shared.keep_old_move(telling, to, container=container)
        if container.state == State.OUT:
            raise WrongState(f"{container.code} is out: bring it back first, then it can be moved.")
        if container.state == State.NOT_FOUND and to is not None:
            raise WrongState(f"{container.code} is not found: say that it was found, and where.")
        if to is not None:
            refuse_inside_itself(container, to)
            shared.refuse_unfit(to, shared.in_quarantine(container=container))
        return _put_container(container, to, telling)


def send_out(*, by: User, piece: Piece, to: Place | None, reason: str, happened: datetime | None = None) -> Move:
    """A piece leaves the store: its state is out, its place the away place or none.

    Raises WrongState unless it is in store, out of quarantine and without open pest work.
    """
    require(by, Ability.MOVE)
    telling = Telling(by, reason, happened)
    with transaction.atomic():
        standing = shared.standing_to_change(piece)
        if standing is None or standing.state != State.IN_STORE:
            word = "not received yet" if standing is None else standing.state
            raise WrongState(f"{piece.number} is {word}: only what is in store can be sent out.")
        refuse_kept([piece], "sent out")
        if to is not None and to.kind != PlaceKind.AWAY:
            raise Refused(f"{to.code} is not away from the store: choose an away place.", field="to")
        move = shared.keep_move(telling, standing.place, to, piece=piece)
        shared.stand(standing, telling, "sent out", to, State.OUT)
    return move


def bring_back(*, by: User, piece: Piece, to: Place, reason: str, happened: datetime | None = None) -> Move:
    """A piece is in the store again, from a loan or from treatment elsewhere.

    Raises WrongState unless it is out or at treatment, or when the place is not fit for it.
    """
    require(by, Ability.MOVE)
    telling = Telling(by, reason, happened)
    with transaction.atomic():
        standing = shared.standing_to_change(piece)
        if standing is None or standing.state not in (State.OUT, State.TREATMENT):
            word = "not received yet" if standing is None else standing.state
            raise WrongState(f"{piece.number} is {word}: only what is out can be brought back.")
        shared.refuse_unfit(to, shared.in_quarantine(piece=piece))
        move = shared.keep_move(telling, standing.place, to, piece=piece)
        shared.stand(standing, telling, "brought back", to, State.IN_STORE)
    return move


def take_to_treatment(*, by: User, piece: Piece, to: Place | None, reason: str) -> Move:
    """A piece goes to treatment: on a bench, in a freezer, or away (None). Raises WrongState unless it is in store."""
    require(by, Ability.MOVE)
    telling = Telling(by, reason)
    with transaction.atomic():
        standing = shared.standing_to_change(piece)
        if standing is None or standing.state != State.IN_STORE:
            word = "not received yet" if standing is None else standing.state
            raise WrongState(f"{piece.number} is {word}: only what is in store goes to treatment.")
        if to is not None and to.kind != PlaceKind.AWAY:
            shared.refuse_unfit(to, shared.in_quarantine(piece=piece))
        move = shared.keep_move(telling, standing.place, to, piece=piece)
        shared.stand(standing, telling, "taken to treatment", to, State.TREATMENT)
    return move


def set_home(*, by: User, piece: Piece, home: Place | None, reason: str = "") -> Standing:
    """Change where a piece belongs; where it is does not change. Raises WrongState before it is received."""
    require(by, Ability.MOVE)
    telling = Telling(by, reason)
    with transaction.atomic():
        standing = shared.standing_to_change(piece)
        if standing is None:
            raise WrongState(f"{piece.number} has not been received yet: say where it is first.")
        before = {"home": standing.home}
        if standing.home != home:
            standing.home = home
            keep(standing)
            shared.tell(telling, "home changed", piece, before, {"home": home})
    return standing


def _put_container(container: Place, to: Place | None, telling: Telling) -> Move:
    """Keep the move of a container; the caller holds the tree and has checked the way."""
    before = {"parent": container.parent, "state": container.state}
    move = shared.keep_move(telling, container.parent, to, container=container, seen=container)
    verb = "seen" if container.parent_id == getattr(to, "pk", None) else "moved"
    container.parent = to
    if to is None:
        container.state = State.NOT_FOUND
        lose_content(container, telling)
    else:
        shared.saw(container, telling)
    keep(container)
    shared.tell(telling, verb, container, before, {"parent": container.parent, "state": container.state})
    return move


def lose_content(container: Place, telling: Telling) -> None:
    """What lies in a container that nobody can find is not found either: each thing gets its line."""
    quiet = Telling(telling.by, telling.reason or f"with {container.code}", telling.happened, None, telling.by_name)
    inside = tree.under(container)
    for box in inside.exclude(pk=container.pk).filter(state=State.IN_STORE).select_for_update(no_key=True):
        box.state = State.NOT_FOUND
        keep(box)
        shared.tell(quiet, "not found", box, {"state": State.IN_STORE}, {"state": box.state, "missing": container})
    for piece in (
        Piece.objects.filter(standing__place__in=inside).order_by("pk").select_for_update(no_key=True, of=("self",))
    ):
        standing = Standing.objects.select_related("place", "home").get(piece=piece)
        if standing.state == State.NOT_FOUND:
            continue
        before = {"state": standing.state}
        standing.state, standing.since = State.NOT_FOUND, quiet.when
        keep(standing)
        shared.tell(quiet, "not found", piece, before, {"state": standing.state, "missing": container})
