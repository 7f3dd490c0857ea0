"""Reads for the scan page: what waits for a decision, what is left to carry, what one scanned last."""

from django.db.models import Q, QuerySet

from catalog.access.models import User
from catalog.pieces.models import Piece
from catalog.storage import tree
from catalog.storage.models import Move, Place, State
from catalog.storage.scan_models import KeptScan

MOST = 50


def waiting(by: User) -> QuerySet[KeptScan]:
    """Kept scans that nobody has decided, the oldest first; of things this person may see."""
    rows = KeptScan.objects.filter(decision="").select_related("piece", "container", "to_place", "by")
    return rows.filter(Q(piece__isnull=True) | Q(piece__in=Piece.objects.seen_by(by)))


def last_moves(by: User, number: int) -> list[Move]:
    """The person's own last scans, newest first, with what each took back or was taken back by."""
    rows = Move.objects.filter(by=by, client_id__isnull=False, undoes__isnull=True)
    rows = rows.select_related("piece", "container", "from_place", "to_place", "undone_by")
    return list(rows.order_by("-id")[:number])


def left_in(place: Place, by: User) -> tuple[int, list[Piece | Place]]:
    """How many things still stand right in the place or on its shelves by the record, and the first of them.

    What lies in a trunk goes with it, so it is not listed by itself.
    """
    fixed = [one.pk for one in tree.under(place) if one.pk == place.pk or not one.is_container]
    boxes = Place.objects.filter(parent__in=fixed, state=State.IN_STORE, kind__in=Place.CONTAINERS).order_by("code")
    pieces = Piece.objects.seen_by(by).filter(standing__place__in=fixed, standing__state=State.IN_STORE)
    things: list[Piece | Place] = [*boxes[:MOST], *pieces.order_by("number")[:MOST]]
    return boxes.count() + pieces.count(), things[:MOST]
