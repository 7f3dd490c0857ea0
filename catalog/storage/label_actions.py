"""Labels: issued for a thing, printed as blanks and bound later, replaced. An old label still leads to its thing."""

from collections.abc import Sequence

from django.db import transaction
from django.db.models import Max

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.checks import keep
from catalog.core.clock import now
from catalog.core.codes import CodeError, make_code, read_code
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import alone, lock_rows
from catalog.pieces.models import Piece
from catalog.storage.models import Label, LabelLetter, Place

MOST_BLANKS = 500


def issue_label(*, by: User, piece: Piece | None = None, place: Place | None = None) -> Label:
    """The thing's label; one is made if it has none, so a repeated click makes no second one."""
    require(by, Ability.RECORD)
    thing = _one_of(piece, place)
    with transaction.atomic():
        _alone(piece)
        live = Label.objects.filter(piece=piece, place=place, retired_at__isnull=True).first()
        if live is not None:
            return live
        label = _make(_letter(place), piece=piece, place=place)
        record(by, "label issued", thing.subject, after={"label": label.code})
    return label


def issue_labels(*, by: User, pieces: Sequence[Piece] = (), places: Sequence[Place] = ()) -> list[Label]:
    """A label for each thing that has none yet; the new ones. All of them, or none."""
    require(by, Ability.RECORD)
    with transaction.atomic():
        _alone(*pieces)
        live = Label.objects.filter(retired_at__isnull=True)
        labelled = {*live.filter(piece__in=pieces).values_list("piece", flat=True)}
        labelled_places = {*live.filter(place__in=places).values_list("place", flat=True)}
        made = [(_make(LabelLetter.PIECE, piece=one), one.subject) for one in pieces if one.pk not in labelled]
        made += [(_make(_letter(one), place=one), one.subject) for one in places if one.pk not in labelled_places]
        for label, subject in made:
            record(by, "label issued", subject, after={"label": label.code})
    return [label for label, _ in made]


def make_blanks(*, by: User, count: int) -> list[Label]:
    """New blanks, to be printed now and bound when they are stuck on. Raises Refused for a senseless count."""
    require(by, Ability.RECORD)
    if not 1 <= count <= MOST_BLANKS:
        raise Refused(f"Print between 1 and {MOST_BLANKS} blanks at once.", field="count")
    with transaction.atomic():
        alone("labels")
        return [_make(LabelLetter.BLANK) for _ in range(count)]


def bind_label(*, by: User, code: str, piece: Piece | None = None, place: Place | None = None) -> Label:
    """Tie a blank to its thing; the thing's older labels still lead to it but are replaced by this one.

    Binding it again to the same thing changes nothing. Raises Refused for a code that is no blank of ours, WrongState
    when it leads to something else already.
    """
    require(by, Ability.RECORD)
    thing = _one_of(piece, place)
    try:
        wanted = read_code(code)
    except CodeError as wrong:
        raise Refused(str(wrong), field="code") from wrong
    with transaction.atomic():
        _alone(piece)
        label = Label.objects.select_related("piece", "place").filter(code=wanted).first()
        if label is None:
            raise Refused(f"{wanted} was never printed here: look at the code again.", field="code")
        bound_to = label.piece or label.place
        if bound_to is not None:
            if bound_to == thing:
                return label
            raise WrongState(f"{wanted} is on {bound_to} already: take another blank.", field="code")
        before = _retire(piece, place)
        label.piece, label.place, label.bound_at = piece, place, now()
        keep(label)
        record(by, "label bound", thing.subject, before=before, after={"label": label.code})
    return label


def replace_label(*, by: User, piece: Piece | None = None, place: Place | None = None, reason: str = "") -> Label:
    """A new label for a thing whose label is worn or lost; the old ones still lead to it."""
    require(by, Ability.RECORD)
    thing = _one_of(piece, place)
    with transaction.atomic():
        _alone(piece)
        before = _retire(piece, place)
        label = _make(_letter(place), piece=piece, place=place)
        record(by, "label replaced", thing.subject, before=before, after={"label": label.code}, reason=reason)
    return label


def _alone(*pieces: Piece | None) -> None:
    """The serials alone, after the pieces that lines will tell of: they may be moved in the same transaction."""
    lock_rows(Piece.objects.filter(pk__in=[piece.pk for piece in pieces if piece is not None]))
    alone("labels")


def _make(letter: str, *, piece: Piece | None = None, place: Place | None = None) -> Label:
    """The next label of a letter; the caller holds the serials alone."""
    serial = (Label.objects.filter(letter=letter).aggregate(last=Max("serial"))["last"] or 0) + 1
    try:
        code = make_code(letter, serial)
    except CodeError as full:
        raise Refused(f"All 99,999 codes that begin with {letter} are used.") from full
    label = Label(code=code, letter=letter, serial=serial, piece=piece, place=place)
    if piece is not None or place is not None:
        label.bound_at = now()
    keep(label)
    return label


def _retire(piece: Piece | None, place: Place | None) -> dict[str, str]:
    live = Label.objects.filter(piece=piece, place=place, retired_at__isnull=True)
    codes = list(live.values_list("code", flat=True))
    live.update(retired_at=now())
    return {"label": ", ".join(codes)} if codes else {}


def _letter(place: Place | None) -> str:
    if place is None:
        return LabelLetter.PIECE
    return LabelLetter.CONTAINER if place.is_container else LabelLetter.PLACE


def _one_of(piece: Piece | None, place: Place | None) -> Piece | Place:
    thing = piece or place
    if thing is None or (piece is not None and place is not None):
        raise TypeError("name a piece or a place")
    return thing
