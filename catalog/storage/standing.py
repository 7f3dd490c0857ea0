"""What every move shares: who tells it, whether it is old news, which places are fit, and keeping it all together."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.utils import timezone

from catalog.access.models import User
from catalog.care.models import Quarantine
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.clock import now
from catalog.core.errors import Overtaken, Refused, WrongState
from catalog.core.history import changed, record
from catalog.core.locks import lock_rows
from catalog.pieces.models import Piece
from catalog.storage import tree
from catalog.storage.models import Move, Place, PlaceKind, Standing, State
from catalog.storage.receiving_models import Receipt

# Where a piece in quarantine may be: apart from the main store.
APART = frozenset({PlaceKind.QUARANTINE, PlaceKind.FREEZER, PlaceKind.BENCH, PlaceKind.DOCK})

# What a move changes of a standing.
_WHERE = ("place", "state", "since", "last_seen", "last_seen_by")


@dataclass(frozen=True, slots=True)
class Telling:
    """Who tells a move, when it happened and why; `by_name` is who did it as written in an old list."""

    by: User
    reason: str = ""
    happened: datetime | None = None
    client_id: UUID | None = None
    by_name: str = ""

    def __post_init__(self) -> None:
        refuse_unless_past(happened=self.happened)

    @property
    def when(self) -> datetime:
        return self.happened or now()

    @property
    def who(self) -> str:
        return self.by_name or str(self.by)

    @property
    def day(self) -> date:
        return timezone.localdate(self.when)


def standing_to_change(piece: Piece) -> Standing | None:
    """The piece's standing, with the piece's row held until the transaction ends."""
    lock_rows(Piece.objects.filter(pk=piece.pk))
    standing = Standing.objects.select_related("place").filter(piece=piece).order_by().first()
    if standing is not None:
        standing.piece = piece
    return standing


def container_to_change(container: Place) -> Place:
    """The container as it is now, its row held until the transaction ends."""
    return Place.objects.select_for_update(no_key=True).get(pk=container.pk)


def sent_before(client_id: UUID | None, *, piece: Piece | None = None, container: Place | None = None) -> Move | None:
    """The move that this client id already made. Raises Refused if it was of another thing."""
    if client_id is None or not (found := Move.objects.filter(client_id=client_id)).exists():
        return None
    move = found.get()
    if (move.piece_id, move.container_id) != (getattr(piece, "pk", None), _pk(container)):
        raise Refused("This scan was already kept for another thing: scan again.")
    return move


def refuse_unfit(to: Place, quarantined: list[str]) -> None:
    """Raise WrongState if nothing may be put into `to`, or not what is in quarantine."""
    steps = tree.steps(to)
    for step in steps:
        if step.kind == PlaceKind.AWAY:
            raise WrongState(f"{to.code} is away from the store: send the piece out with a loan instead.", field="to")
        if step.state != State.IN_STORE:
            raise WrongState(f"{step.code} is {step.state}: nothing can be put into it.", field="to")
    if quarantined and not any(step.kind in APART for step in steps):
        names = ", ".join(quarantined[:3]) + (f" and {len(quarantined) - 3} more" if len(quarantined) > 3 else "")
        verb = "is" if len(quarantined) == 1 else "are"
        raise WrongState(
            f"{names} {verb} in quarantine: no place in the main store until released. "
            "Choose the quarantine place, a freezer, a bench or the dock.",
            field="to",
        )


def in_quarantine(*, piece: Piece | None = None, container: Place | None = None) -> list[str]:
    """Numbers of what is in open quarantine: the piece, or whatever lies in the container, unlisted trunks among it."""
    rows = Quarantine.objects.filter(released_on__isnull=True)
    if piece is not None:
        return [piece.number] if rows.filter(piece=piece).exists() else []
    if container is None:
        raise TypeError("name a piece or a container")
    rows = rows.filter(piece__standing__place__in=tree.under(container))
    apart = Receipt.objects.filter(closed_on__isnull=True, quarantine_due__isnull=False, released_on__isnull=True)
    unlisted = apart.filter(container__in=tree.under(container)).values_list("container__code", flat=True)
    return [*unlisted, *rows.order_by("piece__number").values_list("piece__number", flat=True)]


def keep_move(
    telling: Telling,
    from_place: Place | None,
    to: Place | None,
    *,
    piece: Piece | None = None,
    container: Place | None = None,
    undoes: Move | None = None,
    seen: Standing | Place | None = None,
) -> Move:
    """Add the row of one move; `seen` is what is moved, so that undoing the move gives back its earlier sighting."""
    move = Move(
        piece=piece,
        container=container,
        from_place=from_place,
        to_place=to,
        happened=telling.when,
        by=telling.by,
        by_name=telling.who,
        reason=telling.reason,
        client_id=telling.client_id,
        undoes=undoes,
        seen_before=None if seen is None else seen.last_seen,
        seen_before_by="" if seen is None else seen.last_seen_by,
    )
    keep(move)
    return move


def stand(standing: Standing, telling: Telling, verb: str, place: Place | None, state: str) -> None:
    """Set where a piece stands, with its sighting and its history line."""
    before = {"place": standing.place, "state": standing.state}
    standing.place, standing.state, standing.since = place, state, telling.when
    saw(standing, telling)
    keep(standing, update_fields=None if standing.pk is None else _WHERE)
    tell(telling, verb, standing.piece, before, {"place": place, "state": state})


def saw(thing: Standing | Place, telling: Telling) -> None:
    """A move is a sighting; an older one does not replace a newer one. The caller saves."""
    if thing.last_seen is None or telling.day >= thing.last_seen:
        thing.last_seen, thing.last_seen_by = telling.day, telling.who


def tell(telling: Telling, verb: str, thing: Piece | Place, before: dict[str, Any], after: dict[str, Any]) -> None:
    """One history line with what changed."""
    old, new = changed(before, after)
    record(
        telling.by,
        verb,
        thing.subject,
        before=old,
        after=new,
        reason=telling.reason,
        happened=telling.happened,
        client_id=telling.client_id,
        by_name=telling.by_name,
    )


def is_old_news(telling: Telling, last_seen: date | None, state: str, since: datetime | None = None, **of: Any) -> bool:
    """Whether a move that is told now happened before what is known already: then it only adds to the past."""
    if telling.happened is None:
        return False
    if since is not None and telling.happened < since:
        return True
    if last_seen is not None and (telling.day < last_seen or (telling.day == last_seen and state == State.NOT_FOUND)):
        return True
    return Move.objects.filter(happened__gt=telling.happened, **of).exists()


def refuse_overtaken(telling: Telling, name: str, seen: Standing | Place, **of: Any) -> None:
    """For a scan that waited for a signal: raise Overtaken, with what is newer, where it would only add to the past."""
    if not is_old_news(telling, seen.last_seen, seen.state, getattr(seen, "since", None), **of):
        return
    newer = Move.objects.filter(happened__gt=telling.when, **of).select_related("to_place").first()
    if newer is None:
        raise Overtaken(f"{name} is {seen.state} by newer news than this scan.", field="to")
    at = timezone.localtime(newer.happened)
    where = newer.to_place.code if newer.to_place else "a place nobody knows"
    raise Overtaken(
        f"{name} was moved to {where} by {newer.by_name} on {at:%-d %b %Y, %H:%M}, after this scan.", field="to"
    )


def keep_old_move(telling: Telling, to: Place | None, **of: Any) -> Move:
    """A move from the past: the row and the line, and nothing of the present changes."""
    earlier = Move.objects.filter(happened__lte=telling.when, **of).select_related("to_place").first()
    from_place = earlier.to_place if earlier else None
    move = keep_move(telling, from_place, to, **of)
    thing = of.get("piece") or of["container"]
    field = "place" if isinstance(thing, Piece) else "parent"
    tell(telling, "moved", thing, {field: from_place}, {field: to})
    return move


def _pk(place: Place | None) -> int | None:
    return None if place is None else place.pk
