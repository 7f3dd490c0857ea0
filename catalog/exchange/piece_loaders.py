"""Loading pieces, each through the rooms' own actions: record, measures, matches, value, condition, wear, hazards,
packs, standing. An old list's facts keep their old date and the name of the list."""

from datetime import date

from catalog.care import actions as care
from catalog.care.models import HazardFinding
from catalog.core import clock
from catalog.core.errors import Refused
from catalog.exchange.calc.rows import Row
from catalog.exchange.loading import Loading, noon, only
from catalog.pieces import actions as pieces
from catalog.pieces.calc.kinds import POINTS
from catalog.pieces.models import Look, OutfitSet, Piece, Production, Role
from catalog.storage import actions as storage
from catalog.storage.models import Place, State


def load_piece(to: Loading, row: Row) -> None:
    piece = _record(to, row)
    to.count("piece")
    _measures(to, row, piece)
    _parts_and_matches(to, row, piece)
    _value(to, row, piece)
    _care(to, row, piece)
    _stand(to, row, piece)
    if row.get("issue_label"):
        storage.issue_label(by=to.by, piece=piece)
        to.count("label")


def _record(to: Loading, row: Row) -> Piece:
    production = to.production(row)
    role = to.role(row) if row.get("role") else None
    slot = to.slot(row) if row.get("slot") else None
    kind = row.get("kind") or (slot.kind if slot else "")
    if not kind:
        raise Refused("say what kind of piece it is, or its slot.", field="kind")
    facts = only(
        row.values,
        number="number",
        name="name",
        multiple="multiple",
        origin="origin",
        made_year="made_year",
        owner="owner",
        owner_name="owner_name",
        materials="materials",
        weight_g="weight",
        size_mark="size_mark",
        note="note",
    )
    if row.get("reference_piece"):
        facts["reference_piece"] = to.piece(row.values["reference_piece"], "reference_piece")
    packed = [row.get(f"packed_{side}") for side in ("length", "width", "height")]
    if any(packed) and not all(packed):
        raise Refused("a packed size is length, width and height, all three.", field="packed_length")
    piece = pieces.record_piece(
        by=to.by,
        kind=kind,
        production=production,
        role=role,
        slot=slot,
        outfit_set=_set(to, row, role),
        look=_look(to, row, production),
        packed_mm=(packed[0], packed[1], packed[2]) if all(packed) else None,
        by_name=row.get("by", ""),
        source=to.source,
        **facts,
    )
    to.keep(piece, piece.number)
    return piece


def _set(to: Loading, row: Row, role: Role | None) -> OutfitSet | None:
    """The set of this code, made with its first piece."""
    code = row.get("set")
    if not code:
        return None
    if role is None:
        raise Refused("a set belongs to a role: name the role too.", field="set")

    def make() -> OutfitSet:
        to.count("set")
        return pieces.add_set(by=to.by, role=role, code=code, source=to.source)

    return to.or_make(OutfitSet, code, lambda: OutfitSet.objects.filter(code__iexact=code).first(), make)


def _look(to: Loading, row: Row, production: Production) -> Look | None:
    """The production's look of this name, made with its first piece."""
    return look_named(to, production, row.get("look"))


def look_named(to: Loading, production: Production, name: str | None) -> Look | None:
    if not name:
        return None

    def make() -> Look:
        to.count("look")
        return pieces.add_look(by=to.by, production=production, name=name, source=to.source)

    found = Look.objects.filter(production=production, name__iexact=name)
    return to.or_make(Look, f"{production.pk} {name}", found.first, make)


def _measures(to: Loading, row: Row, piece: Piece) -> None:
    trust = row.get("measure_trust", "listed")
    for point in POINTS:
        reserve = row.get(f"let_out_{point}")
        if point in row.values:
            pieces.set_measure(
                by=to.by,
                piece=piece,
                point=point,
                value_mm=row.values[point],
                let_out_mm=reserve,
                trust=trust,
                source=to.source,
            )
            to.count("measure")
        elif reserve is not None:
            raise Refused(f"a reserve needs the measure it belongs to: {point}.", field=f"let_out_{point}")


def _parts_and_matches(to: Loading, row: Row, piece: Piece) -> None:
    """A pair's halves came with the piece; what else can get lost alone takes the next letters."""
    taken = {part.letter for part in piece.parts.all()}
    free = (letter for letter in "abcdefghijklmnopqrstuvwxyz" if letter not in taken)
    for given in row.get("parts", ()):
        name, _, side = given.partition(":")
        if side not in {"", "left", "right"}:
            raise Refused(f"“{side}” is no side: write left or right, the wearer's.", field="parts")
        pieces.add_part(by=to.by, piece=piece, letter=next(free), name=name, side=side, source=to.source)
        to.count("part")
    for column, value in row.values.items():
        if column.startswith("match:"):
            group = column.partition(":")[2]
            pieces.set_match(by=to.by, piece=piece, group=group, value=value, source=to.source)
            to.count("match")


def _value(to: Loading, row: Row, piece: Piece) -> None:
    if "value" not in row.values:
        return
    if "currency" not in row.values or "valued_on" not in row.values:
        raise Refused("a value needs its currency and the day it was valued.", field="value")
    pieces.value_piece(
        by=to.by,
        piece=piece,
        amount=row.values["value"],
        currency=row.values["currency"],
        basis=row.get("value_basis", "listed"),
        valued_on=row.values["valued_on"],
        source=to.source,
    )
    to.count("value")


def _care(to: Loading, row: Row, piece: Piece) -> None:
    seen = row.get("last_seen")
    listed_by = row.get("decided_by") or row.get("by") or to.source
    if "grade" in row.values:
        care.report_condition(
            by=to.by,
            piece=piece,
            grade=row.values["grade"],
            occasion=to.source,
            reported_at=noon(seen),
            by_name=row.get("by", ""),
            **only(row.values, stability="stability", completeness="completeness", note="condition_note"),
        )
        to.count("condition report")
    if "wear" in row.values:
        care.decide_wear(
            by=to.by,
            piece=piece,
            decision=row.values["wear"],
            decided_on=row.get("decided_on") or seen or clock.today(),
            decided_by_name=listed_by,
            source=to.source,
            **only(row.values, limits="limits", minutes_limit="minutes_limit", rest_minutes="rest_minutes"),
            **only(row.values, no_close_up="no_close_up"),
            **only(row.values, repair="repair", repair_days="repair_days", repair_day_kind="repair_day_kind"),
        )
        to.count("wear decision")
    if "breakdown" in row.values:
        care.say_breakdown(
            by=to.by,
            piece=piece,
            said_on=seen or clock.today(),
            said_by_name=listed_by,
            source=to.source,
            **only(row.values, state="breakdown", where="breakdown_where"),
        )
        to.count("breakdown")
    _hazards(to, row, piece, seen or clock.today(), listed_by)
    if "pack_chemistry" in row.values or "pack_state" in row.values:
        care.record_pack(
            by=to.by,
            piece=piece,
            seen_on=seen,
            source=to.source,
            **only(row.values, chemistry="pack_chemistry", state="pack_state"),
            **only(row.values, energy_wh="pack_energy_wh", placed="pack_placed"),
        )
        to.count("battery pack")


def _hazards(to: Loading, row: Row, piece: Piece, found_on: date, listed_by: str) -> None:
    for given in row.get("hazards", ()):
        hazard, mark, state = (part.strip() for part in given.partition("="))
        if not mark or state not in HazardFinding.State.values:
            states = ", ".join(HazardFinding.State.values)
            raise Refused(f"“{given}” says no state; write hazard=state, one of {states}.", field="hazards")
        care.find_hazard(
            by=to.by,
            piece=piece,
            hazard=hazard,
            state=state,
            note=f"as listed: {to.source}" if state == HazardFinding.State.CLEARED else "",
            found_on=found_on,
            found_by_name=listed_by,
            source=to.source,
        )
        to.count("hazard finding")


def _stand(to: Loading, row: Row, piece: Piece) -> None:
    """Where it stands. Without any place, and without "not found", nothing is claimed: it is not received yet."""
    container, place = to.place(row, "container"), to.place(row, "place")
    stands = container or place
    state = row.get("state") or (State.IN_STORE if stands else None)
    if state is None:
        return
    storage.receive_piece(
        by=to.by,
        piece=piece,
        home=_home(to, row, stands),
        place=stands,
        state=state,
        last_seen=row.get("last_seen"),
        last_seen_by=row.get("last_seen_by", ""),
        happened=noon(row.get("last_seen")),
        source=to.source,
    )
    to.count(f"piece {state}")


def _home(to: Loading, row: Row, stands: Place | None) -> Place | None:
    """As written; else where it stands, when that is in the house."""
    if "home" in row.values:
        return to.place(row, "home")
    return None if stands is None or stands.kind == Place.Kind.AWAY else stands
