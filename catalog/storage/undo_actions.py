"""Taking a mistaken move back: another move and another line, never a deletion."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.core.history import lines_of
from catalog.core.locks import alone
from catalog.pieces.models import Piece
from catalog.storage import standing as shared
from catalog.storage.models import Move, Place, Standing
from catalog.storage.place_actions import refuse_inside_itself
from catalog.storage.standing import Telling


def undo_move(*, by: User, move: Move, client_id: UUID | None = None, happened: datetime | None = None) -> Move:
    """Take back one's own last move of a thing: it stands where it stood, and its sighting is what it was before.

    Taking back twice adds nothing. Raises Refused for somebody else's move, WrongState when the thing has moved on,
    had no place before, or may not go back there.
    """
    require(by, Ability.MOVE)
    if move.by_id != by.pk:
        raise Refused(f"{move.by_name} moved it: only who made a scan can take it back. Move it instead.")
    telling = Telling(by, f"scan undone: {move.reason}" if move.reason else "scan undone", happened, client_id)
    with transaction.atomic():
        if move.container is not None:
            alone("tree")
            thing: Standing | Place | None = shared.container_to_change(move.container)
        else:
            thing = shared.standing_to_change(_piece(move))
        earlier = Move.objects.filter(undoes=move).first()
        if earlier is not None:
            return earlier
        back = _way_back(move, thing)
        if isinstance(thing, Place):
            refuse_inside_itself(thing, back)
            shared.refuse_unfit(back, shared.in_quarantine(container=thing))
            return _put_back(move, thing, back, telling)
        assert thing is not None  # noqa: S101 - _way_back has refused a piece without a standing
        shared.refuse_unfit(back, shared.in_quarantine(piece=thing.piece))
        return _stand_back(move, thing, back, telling)


def _piece(move: Move) -> Piece:
    if move.piece is None:
        raise TypeError("a move is of a piece or of a container")
    return move.piece


def _way_back(move: Move, thing: Standing | Place | None) -> Place:
    """Where it came from. Raises WrongState when it stands elsewhere by now, or came from nowhere."""
    name = str(move.piece or move.container)
    here = thing.parent_id if isinstance(thing, Place) else thing.place_id if thing else None
    of = {"container": move.container} if move.container is not None else {"piece": move.piece}
    newest = Move.objects.filter(**of).order_by("-happened", "-id").first()
    if here != move.to_place_id or newest is None or newest.pk != move.pk or thing is None:
        raise WrongState(f"{name} has moved on since this scan: move it to where it is instead.")
    if move.from_place is None:
        raise WrongState(f"{name} had no place before this scan: move it to where it is instead.")
    return move.from_place


def _put_back(move: Move, container: Place, back: Place, telling: Telling) -> Move:
    made = shared.keep_move(telling, container.parent, back, container=container, undoes=move)
    before = {"parent": container.parent}
    container.parent = back
    container.last_seen, container.last_seen_by = move.seen_before, move.seen_before_by
    keep(container)
    shared.tell(telling, "scan undone", container, before, {"parent": back})
    return made


def _stand_back(move: Move, standing: Standing, back: Place, telling: Telling) -> Move:
    made = shared.keep_move(telling, standing.place, back, piece=standing.piece, undoes=move)
    before = {"place": standing.place, "state": standing.state}
    standing.place, standing.since = back, telling.when
    standing.state = _state_before(move, standing)
    standing.last_seen, standing.last_seen_by = move.seen_before, move.seen_before_by
    keep(standing)
    shared.tell(telling, "scan undone", standing.piece, before, {"place": back, "state": standing.state})
    return made


def _state_before(move: Move, standing: Standing) -> str:
    """A piece that a scan took out of treatment is at treatment again: the move's own line knows."""
    lines = lines_of(standing.piece.subject).filter(verb__in=["moved", "seen"], happened__gte=move.happened)
    line = lines.first()
    state = line.before.get("state") if line is not None else None
    return str(state or standing.state)
