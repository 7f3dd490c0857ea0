"""Adding and changing places and containers."""

import re
from datetime import date
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.checks import keep
from catalog.core.errors import Refused
from catalog.core.history import changed, record
from catalog.core.locks import alone
from catalog.storage import tree
from catalog.storage.models import Place, State

# A code stands in addresses and on shelf edges.
_CODE = re.compile(r"^[A-Za-z0-9][A-Za-z0-9._+-]*$")
# Words that are pages of this room.
RESERVED = frozenset({"add", "found", "missing", "labels", "piece", "receive", "received"})
_CHANGEABLE = (
    "name",
    "kind",
    "parent",
    "home",
    "order",
    "target_c_tenths",
    "target_rh",
    "width_mm",
    "measured_by",
    "takes_count",
    "needs_steps",
    "tare_g",
    "note",
)


def add_place(
    *,
    by: User,
    code: str,
    name: str,
    kind: str,
    parent: Place | None = None,
    home: Place | None = None,
    order: int = 0,
    target_c_tenths: int | None = None,
    target_rh: int | None = None,
    width_mm: int | None = None,
    measured_by: str = "",
    takes_count: int | None = None,
    needs_steps: bool = False,
    tare_g: int | None = None,
    state: str = State.IN_STORE,
    last_seen: date | None = None,
    last_seen_by: str = "",
    note: str = "",
    source: str = "",
) -> Place:
    """Add a place or a container. Raises Refused or WrongValues with a sentence, the field named."""
    require(by, Ability.ARRANGE_STORE)
    code = code.strip()
    if not _CODE.match(code) or code.lower() in RESERVED:
        raise Refused(
            f"“{code}” cannot be a code: use letters, digits and - . _ + "
            "(add, found, missing, labels, piece, receive and received are taken).",
            field="code",
        )
    with transaction.atomic():
        alone("tree")
        place = Place(code=code, name=name.strip(), kind=kind, parent=parent, home=home, order=order, state=state)
        place.target_c_tenths, place.target_rh, place.width_mm = target_c_tenths, target_rh, width_mm
        place.measured_by, place.takes_count = measured_by, takes_count
        place.needs_steps, place.tare_g, place.note = needs_steps, tare_g, note.strip()
        place.last_seen, place.last_seen_by = last_seen, last_seen_by
        _refuse_odd_place(place)
        keep(place)
        record(by, "added", place.subject, after=_known(place), reason=source)
    return place


def edit_place(*, by: User, place: Place, **changes: Any) -> Place:
    """Change what is known of a place; a container is moved with `move_container`, its code never changes.

    Raises TypeError for a field that may not be changed here, Refused or WrongValues with a sentence.
    """
    require(by, Ability.ARRANGE_STORE)
    if wrong := set(changes) - set(_CHANGEABLE):
        raise TypeError(f"edit_place cannot change {', '.join(sorted(wrong))}")
    with transaction.atomic():
        alone("tree")
        place = Place.objects.select_for_update(no_key=True).get(pk=place.pk)
        before, was_container = _facts(place), place.is_container
        for field, value in changes.items():
            if field == "parent" and was_container and value != place.parent:
                raise Refused(f"{place.code} is moved, not edited: use its move page.", field="parent")
            setattr(place, field, value)
        if place.is_container != was_container:
            raise Refused("A shelf cannot become a container, nor a container a shelf: add a new place.", field="kind")
        _refuse_odd_place(place)
        old, new = changed(before, _facts(place))
        if new:
            keep(place)
            record(by, "changed", place.subject, before=old, after=new)
    return place


def refuse_inside_itself(place: Place, to: Place) -> None:
    """Raise Refused if `to` is the place or lies in it, at whatever depth; call with the tree held alone."""
    if any(step.pk == place.pk for step in tree.path(to)):
        where = "itself" if to.pk == place.pk else f"{to.code}, which lies in {place.code}"
        raise Refused(f"{place.code} cannot be put inside {where}.", field="to")


def _refuse_odd_place(place: Place) -> None:
    if place.parent is not None:
        if place.pk is not None:
            refuse_inside_itself(place, place.parent)
        if place.parent.is_container and not place.is_container:
            raise Refused(
                f"A {place.get_kind_display()} stays where it is: it cannot lie in {place.parent.code}, which moves.",
                field="parent",
            )
    if place.home is not None and place.pk is not None and place.pk in {step.pk for step in tree.path(place.home)}:
        raise Refused(f"{place.code} cannot have its home inside itself.", field="home")


def _facts(place: Place) -> dict[str, Any]:
    """What a history line may tell; both climate targets are one fact."""
    told = [field for field in ("code", "state", *_CHANGEABLE) if not field.startswith("target_")]
    return {field: getattr(place, field) for field in told} | {"climate": climate_words(place)}


def climate_words(place: Place) -> str:
    """The climate to keep: "17.0 °C, 50 % RH", or an empty text."""
    celsius = "" if place.target_c_tenths is None else f"{place.target_c_tenths / 10:.1f} °C"
    humidity = "" if place.target_rh is None else f"{place.target_rh} % RH"
    return ", ".join(filter(None, (celsius, humidity)))


def _known(place: Place) -> dict[str, Any]:
    """A first line tells what is known, not what is empty."""
    return {field: value for field, value in _facts(place).items() if value not in (None, "", False)}
