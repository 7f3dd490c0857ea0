"""Who may do what: the one table. Actions ask `require`, pages are let through by the address table below.

An address that nobody listed is refused to everybody (see middleware.py), so forgetting one is safe and shows.
"""

from enum import Enum

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser

from catalog.access.duties import EVERY_DUTY, STAFF, Duty, duties_of
from catalog.core.errors import NotAllowed

_A, _W, _P, _S = Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.PRODUCTION, Duty.SET_COSTUMER


class Ability(Enum):
    """An act, and the duties that may do it."""

    LOOK = ("look at pieces, sets and places", EVERY_DUTY)
    SEE_STAFF = ("see staff pages", STAFF)
    RECORD = ("record and correct pieces", frozenset({_A}))
    SEE_VALUES = ("see values", frozenset({_A, _P}))
    DECIDE_WEAR = ("report condition and decide on wear", frozenset({_A}))
    ALTER = ("alter pieces and undo alterations", frozenset({_A, _W}))
    MOVE = ("move pieces and trunks", frozenset({_A, _W, _S}))
    ARRANGE_STORE = ("add and change places", frozenset({_A}))
    CALL = ("take and change calls", frozenset({_A, _W, _P}))
    SEE_CALLS = ("see calls", STAFF)
    SEE_BODIES = ("read size sheets", frozenset({_W}))
    FIT = ("plan fittings", frozenset({_W}))
    DRY_RUN = ("ask what is possible", frozenset({_A, _W, _P}))
    HOLD = ("hold pieces", frozenset({_A, _W, _P}))
    PULL = ("pull pieces", frozenset({_A, _W, _S}))
    SIGN_OUT = ("sign pieces out and in", frozenset({_A, _W, _S}))
    PUT_AWAY = ("release from quarantine and put away", frozenset({_A}))
    SEE_TRAVEL = ("see what may travel", frozenset({_A, _W, _P}))
    IMPORT = ("load tables", frozenset({_A}))
    EXPORT = ("take lists away", STAFF)
    HOUSE_RULES = ("change the house rules", frozenset({_A}))

    def __init__(self, words: str, duties: frozenset[Duty]) -> None:
        self.words = words
        self.duties = duties


# Everybody, signed in or not.
PUBLIC = "public"
# Whoever is signed in, whatever the duty.
SIGNED_IN = "signed in"

# Address name -> the ability it takes. Names of addresses may point upward; imports may not.
ADDRESSES: dict[str, Ability | str] = {
    "access:sign_in": PUBLIC,
    "access:sign_out": SIGNED_IN,
    "access:units": SIGNED_IN,
    "desk:today": SIGNED_IN,
    "desk:piece": Ability.LOOK,
    "finding:find": Ability.LOOK,
    "finding:find_csv": Ability.EXPORT,
    "desk:label_target": PUBLIC,
    "desk:label_target_printed": PUBLIC,
}


def can(user: AbstractBaseUser | AnonymousUser, ability: Ability) -> bool:
    """Whether one of the person's duties includes the act."""
    return bool(duties_of(user) & ability.duties)


def require(user: AbstractBaseUser | AnonymousUser, ability: Ability) -> None:
    """Raise NotAllowed with a sentence unless the person may do the act."""
    if not can(user, ability):
        who = " or ".join(sorted(duty.value for duty in ability.duties))
        raise NotAllowed(f"To {ability.words} is for the {who}.")
