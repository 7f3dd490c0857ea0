"""Places and containers that a search names, by code, name, label, or kind and number; and "... in trunk 7"."""

import re

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db.models import Q

from catalog.core.codes import plain
from catalog.core.fields import plain_of
from catalog.pieces.models import Piece
from catalog.storage.models import Place, PlaceKind
from catalog.storage.readings import read

MOST = 8
_IN = re.compile(r"^(?P<what>.*?)\bin\s+(?P<where>\S.*)$", re.IGNORECASE | re.DOTALL)
_KINDS = {word.lower(): key for key, word in PlaceKind.choices} | {key: key for key in PlaceKind.values}


def places_named(text: str) -> list[Place]:
    """The places that the text names: "ab12", "AB 12" and "AB-12" are one code; "trunk 7" and "7" are a number."""
    word = " ".join(text.split())
    if not plain(word):
        return []
    about = Q(bare=plain(word)) | Q(name__iexact=word)
    kind, _, number = word.rpartition(" ")
    if number.isascii() and number.isdecimal() and (not kind or kind.lower() in _KINDS):
        kinds = [_KINDS[kind.lower()]] if kind else list(Place.CONTAINERS)
        about |= Q(kind__in=kinds, code__iregex=rf"^[^0-9]*0*{int(number)}$")
    return list(Place.objects.annotate(bare=plain_of("code")).filter(about).order_by("order", "code")[:MOST])


def in_place(text: str) -> tuple[str, Place] | None:
    """What is looked for and where, of "gloves in trunk 7"; None unless the text names one place."""
    found = _IN.match(" ".join(text.split()))
    if found is None:
        return None
    places = places_named(found["where"])
    return (found["what"].strip(), places[0]) if len(places) == 1 else None


def things_named(text: str, by: AbstractBaseUser | AnonymousUser) -> list[Piece | Place]:
    """What the whole text names, for the top of the results: by label, number or code, however it was typed."""
    word = " ".join(text.split())
    if not word:
        return []
    inside = in_place(word)
    if inside is not None:
        return [inside[1]]
    thing = read(word, by).thing
    if isinstance(thing, Piece):
        return [thing]
    places = places_named(word)
    return [thing, *(place for place in places if place != thing)] if thing is not None else [*places]
