"""Alterations: changes of size that go back, within what the seam gives."""

from datetime import date
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.calc.alterations import names_cutting, too_far
from catalog.care.garment_queries import sizes_of_piece
from catalog.care.models import Alteration
from catalog.core import history
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.locks import lock_rows
from catalog.core.units import show_length
from catalog.pieces.calc.kinds import POINTS, impossible
from catalog.pieces.models import Measure, Piece


@transaction.atomic
def alter(
    *,
    by: User,
    piece: Piece,
    what: str,
    way: str = "",
    seam: str = "",
    point: str = "",
    change_mm: int | None = None,
    done_on: date,
    done_by_name: str,
    undo_by: date | None = None,
    for_number: str = "",
    goes_back: bool = False,
    source: str = "",
) -> Alteration:
    """A change of size that can be undone. The measure itself is corrected by whoever measures again.

    Raises Refused when the seam does not give as much (what nobody measured gives nothing), for words that speak of
    cutting, dyeing or gluing unless `goes_back` says that they mean something else, and for a name on the tag.
    """
    require(by, Ability.ALTER)
    refuse_unless_past(done_on=done_on)
    row = Alteration(piece=piece, what=" ".join(what.split()), way=way, seam=" ".join(seam.split()), point=point)
    row.change_mm, row.done_on, row.done_by_name, row.undo_by = change_mm, done_on, done_by_name.strip(), undo_by
    row.for_number = _number_only(for_number)
    _refuse_cutting(row, goes_back=goes_back)
    if undo_by is not None and undo_by < done_on:
        raise Refused("It is undone on or after the day it was made.", field="undo_by")
    lock_rows(Piece.objects.filter(pk=piece.pk))
    _refuse_impossible(row)
    row.before_mm = Measure.objects.filter(piece=piece, point=point).values_list("value_mm", flat=True).first()
    keep(row)
    history.record(by, "altered", piece.subject, after=_alteration_facts(row), reason=source)
    return row


@transaction.atomic
def undo_alteration(*, by: User, alteration: Alteration, undone_on: date, source: str = "") -> Alteration:
    """The alteration is undone. Raises WrongState when it was undone before."""
    require(by, Ability.ALTER)
    refuse_unless_past(undone_on=undone_on)
    row = Alteration.objects.select_for_update(of=("self",)).select_related("piece").get(pk=alteration.pk)
    if row.undone_on is not None:
        raise WrongState(f"“{row.what}” was undone before.")
    row.undone_on = undone_on
    keep(row)
    told = {"alteration": {"what": row.what}, "undone_on": undone_on}
    history.record(by, "alteration undone", row.piece.subject, after=told, reason=source)
    return row


def _refuse_cutting(row: Alteration, *, goes_back: bool) -> None:
    found = names_cutting(f"{row.what} {row.seam}")
    if found and not goes_back:
        raise Refused(
            f"“{found[0]}” would not go back: nothing is cut, dyed or glued. If it means something else, "
            "tick that it goes back.",
            field="what",
        )


def _number_only(text: str) -> str:
    number = text.strip().upper()
    if number and (len(number) > 8 or " " in number or not any(sign.isdigit() for sign in number)):
        raise Refused("The tag bears the performer's number, for example A12, never a name.", field="for_number")
    return number


def _refuse_impossible(row: Alteration) -> None:
    """The change belongs to a point of ours, the seam gives it, and the size that comes of it can be true."""
    if row.point and row.point not in POINTS:
        raise Refused(f"“{row.point}” is no point we measure.", field="point")
    if row.change_mm is None:
        return
    if not row.point:
        raise Refused("Say at which point the size changed.", field="point")
    point, now = POINTS[row.point], sizes_of_piece(row.piece, row.point)
    most = too_far(now, row.change_mm) if point.let_out else None
    if most is not None:
        gives = f"gives {show_length(most, 'cm')} at most" if now.reserve is not None else "has no reserve recorded"
        raise Refused(
            f"{row.piece.number}: the {point.word} {gives}. Measure the cloth in the seam.", field="change_mm"
        )
    if now.present is not None and (wrong := impossible(row.point, now.present + row.change_mm)):
        raise Refused(wrong, field="change_mm")


def _alteration_facts(row: Alteration) -> dict[str, Any]:
    told = {"what": row.what, "point": row.point, "change_mm": row.change_mm}
    return {
        "alteration": {key: value for key, value in told.items() if value not in (None, "")},
        "undo_by": row.undo_by,
    }
