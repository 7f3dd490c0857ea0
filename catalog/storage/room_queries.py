"""What a place's page says of neighbours, hazards out of their cabinet, and free room."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from catalog.access.models import User
from catalog.access.permissions import Ability, can
from catalog.care.calc.cautions import LOCAL_RULES
from catalog.care.calc.hazards import resolved_hazards
from catalog.care.models import BatteryPack
from catalog.care.queries import findings_of, materials_of
from catalog.core import house
from catalog.pieces.models import Piece, PieceFile
from catalog.pieces.queries import made_year, may_see_file
from catalog.storage import tree
from catalog.storage.calc.free_room import HANGING, Room, by_count, by_hanging, by_shelf
from catalog.storage.calc.handling import Handling, Touched, handling
from catalog.storage.calc.neighbours import Lying, Trouble, troubles
from catalog.storage.models import Place, PlaceKind, Standing, State

# Beyond this a page would be a book: shelf by shelf is also how one puts it right.
MOST = 400


@dataclass(frozen=True, slots=True)
class Neighbours:
    """What must not lie as it lies. `too_many`: so many pieces that only the shelves below are judged."""

    troubles: list[Trouble]
    not_judged: int
    handling: tuple[Handling, ...] = ()
    too_many: bool = False
    local_rules: str = LOCAL_RULES


def neighbours_in(place: Place, count: int, by: User) -> Neighbours:
    """Bad neighbours and hazards outside a cabinet in the place, at any depth; a fixed number of queries."""
    if count > MOST:
        return Neighbours([], 0, too_many=True)
    rows = Standing.objects.filter(place__in=tree.under(place), state=State.IN_STORE)
    rows = rows.filter(piece__in=Piece.objects.seen_by(by)).select_related("piece__production", "place")
    standings = list(rows.order_by("place__code", "piece__number"))
    lying = _lying(standings)
    told = tuple(handling([_touched(one) for one in lying]))
    return Neighbours(troubles(lying), sum(not one.materials for one in lying), told)


def handling_in(place: Place, by: User) -> list[Handling]:
    """Cautions for the hand that reaches into it, by its list, be it in the store or missing. Five queries at most."""
    rows = Standing.objects.filter(place__in=tree.under(place), piece__in=Piece.objects.seen_by(by))
    lying = _lying(list(rows.select_related("piece__production", "place").order_by("piece__number")[:MOST]))
    return handling([_touched(one) for one in lying])


def handling_of(piece: Piece) -> list[Handling]:
    """The cautions for picking this piece up."""
    standings = Standing.objects.filter(piece=piece).select_related("piece__production", "place")
    return handling([_touched(one) for one in _lying(list(standings))])


def _touched(one: Lying) -> Touched:
    return Touched(one.number, one.hazards or {}, one.damaged_pack)


def _lying(standings: list[Standing]) -> list[Lying]:
    """Each piece with what it is made of, its hazards and its pack. Four queries at most."""
    ids = [one.piece_id for one in standings]
    if not ids:
        return []
    materials, findings = materials_of(ids), findings_of(ids)
    packs = BatteryPack.objects.filter(piece__in=ids, removed_on__isnull=True).values_list("piece", "state")
    batteries = dict(packs)
    damaged = {piece for piece, state in packs if state == BatteryPack.State.DAMAGED}
    steps = tree.paths({one.place_id for one in standings if one.place_id})
    cabinets = {pk for pk, path in steps.items() if any(step.kind == PlaceKind.CABINET for step in path)}
    lying = []
    for one in standings:
        named = tuple(materials.get(one.piece_id, ()))
        hazards = resolved_hazards(
            named, findings.get(one.piece_id, ()), kind=one.piece.kind, made_year=made_year(one.piece)
        )
        if one.piece_id in batteries:
            hazards["battery"] = "confirmed"
        where = one.place.code if one.place else ""
        in_cabinet = one.place_id in cabinets
        lying.append(Lying(one.piece.number, where, in_cabinet, named, hazards, one.piece_id in damaged))
    return lying


def room_of(place: Place) -> Room | None:
    """Free room by the place's own measure; None when nobody has recorded what it takes or how it is measured."""
    if place.takes_count is not None:
        return by_count(place.takes_count, _things(place))
    if place.width_mm is None or not place.measured_by:
        return None
    lying = Standing.objects.filter(place=place, state=State.IN_STORE)
    if place.measured_by == HANGING:
        return by_hanging(place.width_mm, lying.count(), int(house.value("room.hanging_mm")))
    widths = [*lying.values_list("piece__packed_width_mm", flat=True)]
    boxes = Place.objects.filter(parent=place, kind__in=[kind.value for kind in Place.CONTAINERS])
    return by_shelf(place.width_mm, [*widths, *boxes.values_list("width_mm", flat=True)])


def _things(place: Place) -> int:
    boxes = Place.objects.filter(parent=place, kind__in=[kind.value for kind in Place.CONTAINERS])
    return Standing.objects.filter(place=place, state=State.IN_STORE).count() + boxes.count()


def photos_of(standings: Sequence[Standing], by: User) -> dict[int, PieceFile]:
    """The main picture of each piece, as far as this person may see it. One query."""
    rows = PieceFile.objects.filter(piece__in=[one.piece_id for one in standings], main=True).select_related(
        "file", "piece"
    )
    return {row.piece_id: row for row in rows.order_by("piece__number") if may_see_file(by, row.file.seen_by)}


def room_context(place: Place, count: int, by: User) -> dict[str, Any]:
    """For the page of a place; materials and hazards are for staff."""
    staff = can(by, Ability.SEE_STAFF)
    return {"neighbours": neighbours_in(place, count, by) if staff else None, "room": room_of(place)}
