"""The piece's page: each room offers its section as a query and a part; the desk only orders them."""

from datetime import date
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser

from catalog.access.permissions import Ability, can
from catalog.care.queries import care_facts
from catalog.loans.queries import days_of
from catalog.pieces.models import Piece
from catalog.pieces.queries import piece_facts
from catalog.shipping.queries import travel_facts
from catalog.storage.queries import where_facts

Context = dict[str, Any]


def page_of(piece: Piece, user: AbstractBaseUser | AnonymousUser, today: date) -> Context:
    """All sections of a piece that this person may see. A visitor sees no history, holds, values or travel answer."""
    staff = can(user, Ability.SEE_STAFF)
    care = care_facts(piece)
    where = where_facts(piece)
    return {
        **where,
        "piece": piece,
        "today": today,
        "staff": staff,
        "sheet": piece_facts(piece, user),
        "care": care,
        "where": where["where"],
        "days": days_of(piece, today) if staff else None,
        "travel": travel_facts(piece) if can(user, Ability.SEE_TRAVEL) else None,
        "answer": answer_of(piece, where["where"].state, care["wear"].wear.value),
        "may_record": can(user, Ability.RECORD),
        "may_decide": can(user, Ability.DECIDE_WEAR),
        "may_alter": can(user, Ability.ALTER),
        "may_move": can(user, Ability.MOVE),
        "may_value": can(user, Ability.SEE_VALUES),
        "may_see_staff": staff,
    }


_WEAR = {
    "yes": "may be worn",
    "limits": "may be worn with limits",
    "repair": "may be worn after its repair",
    "no": "not for wear",
}


def answer_of(piece: Piece, state: str, wear: str) -> str:
    """Name, where it stands, and whether it may be worn, in one sentence."""
    return f"{piece.name[:1].upper()}{piece.name[1:]}: {state}, {_WEAR[wear]}."
