"""What lies in a place and could be labelled, and which labels it has."""

from collections.abc import Callable

from django.db.models import Exists, OuterRef, Q, QuerySet

from catalog.access.models import User
from catalog.core.errors import Refused
from catalog.pieces.models import Piece
from catalog.storage import tree
from catalog.storage.calc.walking import natural_key
from catalog.storage.models import Label, Place

PIECES, CONTAINERS, SHELVES = "pieces", "containers", "shelves"
WHAT = {PIECES: "pieces in it", CONTAINERS: "trunks, crates and boxes in it", SHELVES: "shelf edges and places in it"}
MOST = 1000


def to_label(place: Place, what: str, by: User) -> tuple[list[Piece], list[Place]]:
    """The things in the place that may get labels, at any depth. Raises Refused when there is nothing, or too much."""
    rows: list[Piece] | list[Place]
    if what == PIECES:
        rows = list(_pieces(place, by)[: MOST + 1])
    elif what in WHAT:
        rows = list(_places(place, what)[: MOST + 1])
    else:
        raise Refused("Say what is to be labelled: pieces, containers or shelves.", field="what")
    if not rows:
        raise Refused(f"{place.code} holds none of these.", field="what")
    if len(rows) > MOST:
        raise Refused(f"{place.code} holds more than {MOST}: print them shelf by shelf.", field="what")
    return [one for one in rows if isinstance(one, Piece)], [one for one in rows if isinstance(one, Place)]


def labels_in(place: Place, what: str, by: User) -> list[Label]:
    """The live labels of these things, in the order of their numbers."""
    live = Label.objects.filter(retired_at__isnull=True).select_related("piece", "place")
    if what == PIECES:
        rows = live.filter(piece__in=_pieces(place, by))
    elif what in WHAT:
        rows = live.filter(place__in=_places(place, what))
    else:
        raise Refused("Say what is to be printed: pieces, containers or shelves.", field="what")
    found = list(rows[: MOST + 1])
    if len(found) > MOST:
        raise Refused(f"{place.code} holds more than {MOST}: print them shelf by shelf.", field="what")
    return sorted(found, key=lambda label: natural_key(str(label.piece or label.place)))


def counts(place: Place, by: User) -> list[tuple[str, int, int]]:
    """For each sort of thing: its words, how many there are, how many have no label yet."""
    live = Label.objects.filter(retired_at__isnull=True)
    without: dict[str, Callable[[], QuerySet[Piece] | QuerySet[Place]]] = {
        PIECES: lambda: _pieces(place, by).filter(~Exists(live.filter(piece=OuterRef("pk")))),
        CONTAINERS: lambda: _places(place, CONTAINERS).filter(~Exists(live.filter(place=OuterRef("pk")))),
        SHELVES: lambda: _places(place, SHELVES).filter(~Exists(live.filter(place=OuterRef("pk")))),
    }
    every = {PIECES: _pieces(place, by), CONTAINERS: _places(place, CONTAINERS), SHELVES: _places(place, SHELVES)}
    return [(words, every[what].count(), without[what]().count()) for what, words in WHAT.items()]


def _pieces(place: Place, by: User) -> QuerySet[Piece]:
    return Piece.objects.seen_by(by).filter(standing__place__in=tree.under(place)).order_by("number")


def _places(place: Place, what: str) -> QuerySet[Place]:
    boxed = Q(kind__in=[kind.value for kind in Place.CONTAINERS])
    return tree.under(place).filter(boxed if what == CONTAINERS else ~boxed).order_by("order", "code")
