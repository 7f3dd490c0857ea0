"""What the scan page shows: the way, what is filled, what was done last, what waits for a decision."""

import json
from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

from django.urls import reverse

from catalog.access.models import User
from catalog.access.permissions import Ability, can
from catalog.care.calc.cautions import DAMAGED_PACK, LOCAL_RULES
from catalog.care.models import BatteryPack
from catalog.desk.calc.scan_ways import EMERGENCY, OPEN, SLOT_WORDS, WAYS, Way, next_slot
from catalog.desk.kept_queries import how_many_kept
from catalog.loans.models import LoanLine
from catalog.pieces.models import Piece
from catalog.storage import place_queries, queries, scan_queries
from catalog.storage.models import Move, Place, State
from catalog.storage.readings import address_of, name_of, read, unfit_for

LAST = 6


def cut_of(thing: Piece | Place) -> str:
    """The cut of the thing's tag: piece, trunk, place."""
    return "piece" if isinstance(thing, Piece) else "trunk" if thing.is_container else "place"


def as_seen(thing: Piece | Place, by: User | None = None) -> dict[str, Any]:
    """A thing as the page draws it; for `by`, also where it is by the record and how it is lifted."""
    seen: dict[str, Any] = {
        "cut": cut_of(thing), "number": name_of(thing), "name": thing.name, "url": address_of(thing),
    }  # fmt: skip
    if by is not None:
        seen["where"] = _where(thing)
        if isinstance(thing, Piece):
            seen["lift"] = care_words(thing)
        if isinstance(thing, Place):
            path = queries.path(thing)
            lift = place_queries.lift_of(thing, place_queries.content(thing, by), path)
            heavy = "" if lift is None or lift.lift == "one person" else f"{lift.sentence} {lift.cautions[0]}"
            seen["lift"] = " ".join(filter(None, (heavy, "" if thing.is_container else place_queries.cold_at(thing))))
    return seen


def pack_words(piece: Piece) -> str:
    """What to do with a swollen, leaking or damaged pack in the hand, or nothing."""
    damaged = BatteryPack.objects.filter(piece=piece, state=BatteryPack.State.DAMAGED, removed_on__isnull=True)
    return f"{DAMAGED_PACK} {LOCAL_RULES}" if damaged.exists() else ""


def care_words(piece: Piece | None) -> str:
    """What whoever carries the piece should know: its pack, and whose pile it is on."""
    return "" if piece is None else " ".join(filter(None, (pack_words(piece), pulled_words(piece))))


def pulled_words(piece: Piece | None) -> str:
    """That a piece is on somebody's pile, or nothing: whoever puts it on a shelf should know."""
    line = LoanLine.objects.filter(piece=piece, state=LoanLine.State.PULLED).select_related("loan").first()
    if piece is None or line is None:
        return ""
    return f"{piece.number} is pulled for loan {line.loan.reference}: put it back on that list first."


def _where(thing: Piece | Place) -> str:
    if isinstance(thing, Place):
        return "" if not thing.is_container else f"at {thing.parent}" if thing.parent else thing.state
    standing = getattr(thing, "standing", None)
    if standing is None:
        return "not received yet"
    return f"at {standing.place}" if standing.state == State.IN_STORE else str(standing.state)


def left_words(place: Place, by: User) -> str:
    """How many things are still to be carried, by the record."""
    number, _ = scan_queries.left_in(place, by)
    if not number:
        return f"Nothing is left in {place} by the record. Look once more before you go."
    return f"{number} {'thing is' if number == 1 else 'things are'} left in {place} by the record."


def page_context(user: User | None, way: Way, filled: Mapping[str, str], reason: str) -> dict[str, Any]:
    """The page of one way; without a user it is the page that opens without signal."""
    may_move = user is None or can(user, Ability.MOVE)
    if user is not None:
        filled = {slot: text for slot, text in filled.items() if not unfit_for(read(text, user), slot)}
    slot = next_slot(way, filled)
    slots = [_slot(one, filled.get(one, ""), user) for one in way.slots]
    place = read(filled["from"], user).place if user is not None and filled.get("from") else None
    return {
        "way": way,
        "ways": [{"word": one.word, "name": one.name, "current": one is way} for one in WAYS.values()],
        "ways_plain": json.dumps({one.name: _plain(one) for one in WAYS.values() if one.slots}),
        "may_move": may_move,
        "slots": slots,
        "filled": dict(filled),
        "prompt": way.prompts.get(slot or way.slots[-1], "") if way.slots else "",
        "reason": reason,
        "client_id": uuid4(),
        "emergency": way is EMERGENCY,
        "setting_up": slot is not None and slot != "thing",
        "left": left_words(place, user) if place is not None and user is not None else "",
        "left_things": [as_seen(one) for one in scan_queries.left_in(place, user)[1]] if place and user else [],
        "kept": how_many_kept(user) if user is not None and may_move else 0,
        "moves": [move_words(move) for move in scan_queries.last_moves(user, LAST)] if user and way is not OPEN else [],
    }


def _plain(way: Way) -> dict[str, Any]:
    """The way for the page's own program: one table for both."""
    words = {slot: SLOT_WORDS[slot] for slot in way.slots}
    return {"slots": way.slots, "stays": sorted(way.stays), "prompts": dict(way.prompts), "words": words}


def _slot(name: str, text: str, user: User | None) -> dict[str, Any]:
    thing = read(text, user).thing if text and user is not None else None
    seen = as_seen(thing, user) if thing is not None else {}
    return {"slot": name, "word": SLOT_WORDS[name], "text": text, "seen": seen}


def move_words(move: Move) -> dict[str, Any]:
    """One of the person's last scans, with whether it can be taken back."""
    thing = move.piece or move.container
    back = getattr(move, "undone_by", None)
    return {
        "number": str(thing),
        "to": str(move.to_place),
        "same": move.from_place_id == move.to_place_id,
        "at": move.happened,
        "taken_back": back is not None,
        "client_id": move.client_id,
    }


def address_of_way(way: Way, filled: Mapping[str, str], reason: str, **more: str) -> str:
    """The scan page with its state in the address: it can be reloaded, kept and gone back to."""
    query = {"way": way.name, **filled, **({"reason": reason} if reason else {}), **more}
    return f"{reverse('desk:scan')}?{urlencode(query)}"
