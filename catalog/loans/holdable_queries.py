"""What is known of pieces that somebody wants to hold: are they there, may they be worn; and what could go instead."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from catalog.care.queries import wear_state
from catalog.loans import queries
from catalog.loans.calc import holdable
from catalog.loans.calc.holdable import Candidate, Objection
from catalog.loans.models import Call, Hold
from catalog.pieces.models import Piece
from catalog.storage.models import Standing, State

# What people put on; an exhibition or a study shows pieces and wears none.
WORN_FOR = frozenset({Call.Purpose.RESHOOT, Call.Purpose.STILLS})
# So many pieces of a kind are looked through for a way out; nobody reads further.
LOOKED_THROUGH = 300


def to_be_worn(purpose: str, call: Call | None) -> bool:
    """Whether pieces held for this are put on somebody. Its own purpose first, else its call's; unknown is a yes."""
    if purpose:
        return purpose in WORN_FOR
    return call is None or call.purpose in WORN_FOR or call.needs.exists()


def candidates(piece_ids: Iterable[int]) -> list[Candidate]:
    """The pieces as whoever holds them must know them, by number; seven queries, however many."""
    pieces = list(Piece.objects.filter(pk__in=list(piece_ids)).select_related("production").order_by("number"))
    wear = wear_state(pieces)
    lost = Standing.objects.filter(piece__in=[piece.pk for piece in pieces], state=State.NOT_FOUND)
    last_seen = dict(lost.values_list("piece_id", "last_seen"))
    found = []
    for piece in pieces:
        state = wear[piece.pk]
        decision = state.decision.decision if state.decision else ""
        found.append(Candidate(piece.number, piece.pk in last_seen, last_seen.get(piece.pk), decision, state.why))
    return found


def objections(piece_ids: Iterable[int], *, worn: bool) -> list[Objection]:
    """What stands against holding the pieces firmly; empty when nothing does."""
    judged = (holdable.objection(one, worn=worn) for one in candidates(piece_ids))
    return [one for one in judged if one is not None]


def notes_of(hold: Hold, piece_ids: Iterable[int]) -> list[str]:
    """What the page of a hold says of its pieces: what is missing first, then what may not be worn."""
    worn = to_be_worn(hold.purpose, hold.call)
    known = sorted(candidates(piece_ids), key=lambda one: (not one.missing, one.number))
    return [sentence for one in known for sentence in holdable.notes(one, worn=worn)]


def missing_among(piece_ids: Iterable[int]) -> set[int]:
    """Which of the pieces cannot be found at present."""
    lost = Standing.objects.filter(piece__in=list(piece_ids), state=State.NOT_FOUND)
    return set(lost.values_list("piece_id", flat=True))


def spare_by_slot(piece_ids: Iterable[int], first: date, last: date, *, worn: bool) -> dict[int, list[str]]:
    """For the slots of the pieces: numbers of others that are in store, free on all the days and fit for the use.

    To be worn they may be worn, today or after their repair; in no case are they kept for reference only.
    """
    ids = list(piece_ids)
    slots = Piece.objects.filter(pk__in=ids, slot__isnull=False).values("slot_id")
    like = Piece.objects.filter(slot_id__in=slots, standing__state=State.IN_STORE).exclude(pk__in=ids)
    busy = queries.busy_piece_ids(first, last)
    rows = like.select_related("production").order_by("number")[: LOOKED_THROUGH + len(busy)]
    free = [piece for piece in rows if piece.pk not in busy][:LOOKED_THROUGH]
    wear = wear_state(free)
    found: dict[int, list[str]] = defaultdict(list)
    for piece in free:
        state = wear[piece.pk]
        settled = state.decision is not None and state.decision.decision in holdable.AGAINST_WEAR
        if piece.slot_id and not settled and (state.may_be_worn_once_repaired or not worn):
            found[piece.slot_id].append(piece.number)
    return found
