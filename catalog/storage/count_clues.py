"""What counts say of a lost thing: sightings that nobody has settled yet, and shelves that were counted without it."""

from collections import Counter
from datetime import datetime

from django.db.models import Q

from catalog.pieces.models import Piece
from catalog.storage import tree
from catalog.storage.calc.clues import Sight
from catalog.storage.calc.misread import likely_readings
from catalog.storage.models import Place, Sighting, StocktakeStop
from catalog.storage.stocktake_models import SightingKind

MOST = 200


def sights_of(thing: Piece | Place, since: datetime | None) -> tuple[Sight, ...]:
    """What was seen of it since it was surely somewhere, and is in no settled line. Two queries at most."""
    rows = Sighting.objects.filter(taken_back_at__isnull=True).exclude(lines__resolved_at__isnull=False)
    rows = rows.exclude(inside__lines__resolved_at__isnull=False)
    if since is not None:
        rows = rows.filter(seen_at__gt=since)
    if isinstance(thing, Piece):
        seen = rows.filter(piece=thing)[:MOST]
        return tuple(Sight(one.place_id, "itself", one.seen_at) for one in seen)
    content = Piece.objects.filter(standing__place__in=tree.ids_under(thing))
    unknown = Q(kind=SightingKind.CONTAINER, container__isnull=True, text__in=likely_readings(thing.code))
    found = list(rows.filter(Q(container=thing) | unknown | Q(piece__in=content))[:MOST])
    sights = [
        Sight(one.place_id, "itself" if one.container_id else "label", one.seen_at, one.text)
        for one in found
        if one.piece_id is None
    ]
    pieces = Counter(one.place_id for one in found if one.piece_id is not None)
    when = {one.place_id: one.seen_at for one in found if one.piece_id is not None}
    return (*sights, *(Sight(place, "content", when[place], number=number) for place, number in pieces.items()))


def counted_without(since: datetime | None, sights: tuple[Sight, ...]) -> list[int]:
    """Places all of which was counted since, where nothing of it was seen; once for each count. One query."""
    stops = StocktakeStop.objects.filter(counted_at__isnull=False)
    if since is not None:
        stops = stops.filter(counted_at__gt=since)
    seen = {sight.place for sight in sights}
    places = stops.order_by("-counted_at").values_list("place", flat=True)[:MOST]
    return [place for place in places if place not in seen]
