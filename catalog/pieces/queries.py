"""What is read of pieces: numbers, who may see which, and the facts of one piece for its page."""

import re

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db.models import BigIntegerField, Max, QuerySet
from django.db.models.functions import Cast, Substr

from catalog.access.permissions import Ability, can
from catalog.core import house
from catalog.pieces.models import Piece, Production

AnyUser = AbstractBaseUser | AnonymousUser


def next_number(production: Production, replica: bool = False) -> str:
    """The next free number: the highest of its kind plus one, so that a gap is never filled and none used twice.

    Originals and references count as CODE-0001, replicas as CODE-R001; the house says how many digits the first have.
    """
    digits = int(house.value("number.digits"))
    prefix, width = (f"{production.code}-R", max(digits - 1, 1)) if replica else (f"{production.code}-", digits)
    # At most 15 digits: an odd old number must not overflow the database's integers.
    own = Piece.objects.filter(number__iregex=rf"^{re.escape(prefix)}[0-9]{{1,15}}$")
    number = Cast(Substr("number", len(prefix) + 1), BigIntegerField())
    highest = own.aggregate(highest=Max(number))["highest"] or 0
    return f"{prefix}{highest + 1:0{width}d}"


def piece_by_number(number: str) -> Piece | None:
    """The piece of this number in any case, or None."""
    return Piece.objects.filter(number__iexact=" ".join(number.split())).first()


def visible_to(user: AnyUser) -> QuerySet[Piece]:
    """The pieces this person may see; the same as Piece.objects.seen_by(user)."""
    return Piece.objects.seen_by(user)


def productions_for(user: AnyUser) -> QuerySet[Production]:
    """The productions this person may see: closed ones are hidden from visitors."""
    every = Production.objects.all()
    return every if can(user, Ability.SEE_STAFF) else every.filter(closed=False)


def made_year(piece: Piece) -> int | None:
    """The year the piece was made: its own, else the production's for what was made for it, else unknown."""
    if piece.made_year is not None:
        return piece.made_year
    return piece.production.year if piece.owner == Piece.Owner.OURS else None
