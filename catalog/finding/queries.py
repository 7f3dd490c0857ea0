"""Searching pieces: one interface for free text, so that a full-text index can stand behind it later."""

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db.models import Prefetch, Q, QuerySet

from catalog.access.duties import STAFF, duties_of
from catalog.care.models import ConditionReport, WearDecision
from catalog.core.codes import plain
from catalog.core.fields import plain_of
from catalog.pieces.models import Piece, PieceFile

# Where each word of a search may stand.
TEXT_FIELDS = (
    "number", "name", "size_mark", "note", "set__code", "role__name", "role__code", "slot__name", "slot__code",
    "production__title", "production__code", "owner_name", "look__name",
)  # fmt: skip
MAX_WORDS = 12


def visible(user: AbstractBaseUser | AnonymousUser) -> QuerySet[Piece]:
    """The pieces that a person may see: closed productions are hidden from visitors."""
    pieces = Piece.objects.all()
    return pieces if duties_of(user) & STAFF else pieces.filter(production__closed=False)


def matching(pieces: QuerySet[Piece], text: str) -> QuerySet[Piece]:
    """The pieces in which every word of the text stands somewhere: number, name, role, set, material, note.

    A number is found however it is typed: "ab0012" and "AB 0012" are AB-0012.
    """
    for word in text.split()[:MAX_WORDS]:
        anywhere = Q(materials__name__icontains=word)
        for field in TEXT_FIELDS:
            anywhere |= Q(**{f"{field}__icontains": word})
        named = Piece.objects.all()
        if any(sign.isdecimal() for sign in word) and plain(word):
            named = named.annotate(bare=plain_of("number"))
            anywhere |= Q(bare__contains=plain(word))
        # A sub-query keeps the rows single where a piece has several materials.
        pieces = pieces.filter(pk__in=named.filter(anywhere).values("pk"))
    return pieces


def for_list(pieces: QuerySet[Piece]) -> QuerySet[Piece]:
    """With all that a list row shows, in a fixed number of queries."""
    return pieces.select_related(
        "production", "role", "slot", "set", "look", "standing", "standing__place", "standing__place__parent"
    ).prefetch_related(
        Prefetch("wear_decisions", WearDecision.objects.filter(current=True), to_attr="current_wear"),
        Prefetch("reports", ConditionReport.objects.order_by("-reported_at", "-id"), to_attr="reports_newest_first"),
        Prefetch("pictures", PieceFile.objects.filter(main=True).select_related("file"), to_attr="main_pictures"),
    )
