"""What a scanned or typed text means: a label's code, an address on a label, a piece's number, a place's code."""

from dataclasses import dataclass, field
from urllib.parse import unquote

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db.models import Q
from django.db.models.functions import Upper
from django.urls import reverse

from catalog.access.permissions import Ability, can
from catalog.core.codes import CodeError, looks_like_code, near_codes, plain, read_code
from catalog.core.fields import plain_of
from catalog.pieces.calc.numbers import is_temporary
from catalog.pieces.models import Piece
from catalog.storage.calc.misread import readings
from catalog.storage.missing_models import FoundThing
from catalog.storage.models import Label, Place

AnyUser = AbstractBaseUser | AnonymousUser
_MOST = 5


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read. Without a thing, `problem` says why and `suggestions` what it may have been."""

    text: str
    piece: Piece | None = None
    place: Place | None = None
    blank: Label | None = None
    found: FoundThing | None = None
    problem: str = ""
    suggestions: tuple[Piece | Place, ...] = field(default=())

    @property
    def thing(self) -> Piece | Place | None:
        """The piece or place it leads to."""
        return self.piece or self.place


def read(text: str, by: AnyUser) -> Reading:
    """Read what was scanned or typed, as far as this person may see what it leads to."""
    word = " ".join(unquote(text.strip().rstrip("/")).rsplit("/", 1)[-1].split())
    if not word:
        return Reading("", problem="Nothing was scanned: scan a label, or type a number.")
    if is_temporary(word):
        return _read_temporary(word, by)
    if looks_like_code(word):
        found = _read_label(word, by)
        if found is not None:
            return found
    piece = Piece.objects.seen_by(by).filter(number__iexact=word).first()
    if piece is not None:
        return Reading(word, piece=piece)
    place = Place.objects.filter(code__iexact=word).first()
    if place is not None:
        return Reading(word, place=place)
    return _alike(word, by) or _unread(word, by)


def address_of(thing: Piece | Place) -> str:
    """The page of a piece or a place."""
    if isinstance(thing, Piece):
        return reverse("desk:piece", args=[thing.number])
    return reverse("storage:place", args=[thing.code])


def unfit_for(reading: Reading, slot: str) -> str:
    """Why what was read cannot be the "thing" that is moved, or the place it goes "to" or comes "from"; else ""."""
    if reading.found is not None and slot == "thing":
        return ""
    if reading.problem:
        return reading.problem
    if reading.blank is not None:
        return f"{reading.text} is a blank that is on nothing yet: bind it first."
    if slot != "thing":
        number = "" if reading.piece is None else reading.piece.number
        return f"{number} is a piece, not a place: scan the shelf or the trunk." if number else ""
    if reading.place is not None and not reading.place.is_container:
        kind = reading.place.get_kind_display()
        return f"{reading.place.code} is a {kind}: it stays where it is. Scan a piece or a trunk."
    return ""


def name_of(thing: Piece | Place) -> str:
    """The number or code that people read."""
    return thing.number if isinstance(thing, Piece) else thing.code


def _read_temporary(word: str, by: AnyUser) -> Reading:
    """A temporary number leads to what it is now known to be, else to the found thing itself."""
    found = FoundThing.objects.select_related("piece").filter(number__iexact=word).first()
    piece = found.piece if found is not None else None
    if found is None or not can(by, Ability.SEE_STAFF):
        seen = piece is not None and Piece.objects.seen_by(by).filter(pk=piece.pk).exists()
        return (
            Reading(word, piece=piece) if seen else Reading(word[:40], problem=f"Nothing was found as “{word[:40]}”.")
        )
    if piece is not None:
        return Reading(found.number, piece=piece)
    return Reading(found.number, found=found, problem=f"{found.number} is a found thing that nobody knows again yet.")


def _read_label(word: str, by: AnyUser) -> Reading | None:
    try:
        code = read_code(word)
    except CodeError as wrong:
        return None if _exact(word, by) else Reading(word, problem=str(wrong), suggestions=_near_labels(word, by))
    label = Label.objects.select_related("piece__production", "place").filter(code=code).first()
    if label is None:
        return None if _exact(word, by) else Reading(word, problem=f"{code} is on no label of this store.")
    if label.piece is not None and not Piece.objects.seen_by(by).filter(pk=label.piece.pk).exists():
        return Reading(word, problem=f"{code} is on no label of this store.")
    return Reading(code, piece=label.piece, place=label.place, blank=None if label.piece or label.place else label)


def _exact(word: str, by: AnyUser) -> bool:
    """A piece's own number or a place's own code may look like a label's code by chance."""
    pieces = Piece.objects.seen_by(by).annotate(plain=plain_of("number")).filter(plain=plain(word))
    return pieces.exists() or Place.objects.annotate(plain=plain_of("code")).filter(plain=plain(word)).exists()


def _alike(word: str, by: AnyUser) -> Reading | None:
    """What is called the same but for dashes and spaces; where that is several things, all are named to choose from."""
    sought = plain(word)
    pieces = Piece.objects.seen_by(by).annotate(plain=plain_of("number")).filter(plain=sought).order_by("number")
    places = Place.objects.annotate(plain=plain_of("code")).filter(plain=sought).order_by("code")
    found: list[Piece | Place] = [*places[:_MOST], *pieces[:_MOST]]
    if not sought or not found:
        return None
    if len(found) > 1:
        names = " or ".join(name_of(thing) for thing in found)
        return Reading(word[:40], problem=f"“{word[:40]}” may be {names}: choose one.", suggestions=tuple(found))
    thing = found[0]
    return Reading(word, piece=thing) if isinstance(thing, Piece) else Reading(word, place=thing)


def _near_labels(word: str, by: AnyUser) -> tuple[Piece | Place, ...]:
    """Things whose label reads nearly the same: two signs swapped, or one misread."""
    near = near_codes(word)
    labels = {label.code: label for label in Label.objects.select_related("piece", "place").filter(code__in=near)}
    seen = set(Piece.objects.seen_by(by).filter(labels__code__in=near).values_list("pk", flat=True))
    found: dict[tuple[str, int], Piece | Place] = {}
    for code in near:
        label = labels.get(code)
        thing = None if label is None else label.place or (label.piece if label.piece_id in seen else None)
        if thing is not None:
            found.setdefault((type(thing).__name__, thing.pk), thing)
    return tuple(found.values())[:_MOST]


def _unread(word: str, by: AnyUser) -> Reading:
    """Nothing has this number: name what is near, by a misread label, by swapped signs, or by its last digits."""
    near = readings(word)
    digits = word if word.isdecimal() and len(word) >= 2 else ""
    pieces = Piece.objects.seen_by(by).annotate(upper=Upper("number")).order_by("number")
    places = Place.objects.annotate(upper=Upper("code")).order_by("code")
    about = Q(upper__in=near)
    if digits:
        about |= Q(upper__endswith=digits)
    found = [*_near_labels(word, by), *places.filter(about)[:_MOST], *pieces.filter(about)[:_MOST]]
    return Reading(
        word[:40],
        problem=f"No piece, place or label is called “{word[:40]}”.",
        suggestions=tuple(dict.fromkeys(found))[:8],
    )
