"""Writing productions, roles, looks, slots and sets."""

import re
from collections.abc import Iterable
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import history
from catalog.core.checks import keep
from catalog.core.errors import Refused
from catalog.pieces.calc.materials import family_of
from catalog.pieces.models import Look, Material, OutfitSet, Production, Role, Slot

_EDITABLE = ("title", "year", "world", "closed")
# A code stands in numbers, addresses and tables, so it holds nothing that must be quoted there.
CODE = re.compile(r"^[^\W_][\w.\-]*$")


def material(name: str) -> Material:
    """The material of this name, whatever the case; a new one gets the family that its words suggest."""
    clean = " ".join(name.split())
    found = Material.objects.filter(name__iexact=clean).first()
    return found or keep(Material(name=clean, family=family_of(clean)))


def materials_named(names: Iterable[str]) -> list[Material]:
    """The materials of these names in the order given, each once; unknown ones are added."""
    wanted = {" ".join(name.split()).lower(): name for name in reversed(list(names)) if name.strip()}
    known = {row.name.lower(): row for row in Material.objects.filter(name__in=wanted.values())}
    return [known.get(key) or material(name) for key, name in reversed(wanted.items())]


@transaction.atomic
def add_production(
    *, by: User, code: str, title: str, year: int | None = None, world: str = "", closed: bool = False, source: str = ""
) -> Production:
    """A new production. Its code starts the numbers of its pieces."""
    require(by, Ability.RECORD)
    row = keep(Production(code=_code(code), title=title.strip(), year=year, world=world.strip(), closed=closed))
    facts = {"title": row.title, "year": year, "world": row.world, "closed": closed}
    history.record(by, "added", row.subject, after=facts, reason=source)
    return row


@transaction.atomic
def edit_production(*, by: User, production: Production, **changes: Any) -> Production:
    """Correct title, year or world of a production, or close it to visitors. Its code never changes."""
    require(by, Ability.RECORD)
    if unknown := sorted(set(changes) - set(_EDITABLE)):
        raise Refused(f"The {unknown[0]} of a production cannot be changed.", field=unknown[0])
    row = Production.objects.select_for_update().get(pk=production.pk)
    before = {name: getattr(row, name) for name in _EDITABLE}
    for name, value in changes.items():
        setattr(row, name, value.strip() if isinstance(value, str) else value)
    keep(row)
    was, now = history.changed(before, {name: getattr(row, name) for name in _EDITABLE})
    if now:
        history.record(by, "corrected", row.subject, before=was, after=now)
    return row


@transaction.atomic
def add_role(
    *,
    by: User,
    production: Production,
    code: str,
    name: str,
    sort: str = Role.Sort.BACKGROUND,
    sets_made: int | None = None,
    source: str = "",
) -> Role:
    """A new role of a production."""
    require(by, Ability.RECORD)
    row = keep(Role(production=production, code=_code(code), name=name.strip(), sort=sort, sets_made=sets_made))
    facts = {"production": production.code, "name": row.name, "sort": sort, "sets_made": sets_made}
    history.record(by, "added", row.subject, after=facts, reason=source)
    return row


@transaction.atomic
def add_look(*, by: User, production: Production, name: str, note: str = "", source: str = "") -> Look:
    """A new look of a production."""
    require(by, Ability.RECORD)
    row = keep(Look(production=production, name=name.strip(), note=note.strip()))
    history.record(by, "look added", production.subject, after={"look": row.name}, reason=source)
    return row


@transaction.atomic
def add_slot(
    *,
    by: User,
    role: Role,
    code: str,
    name: str,
    kind: str,
    order: int = 0,
    required: bool = True,
    match_group: str = "",
    usual_materials: Iterable[str] = (),
    usual_weight_g: int | None = None,
    make_days: int | None = None,
    fits_anybody: bool = False,
    source: str = "",
) -> Slot:
    """A new slot of a role: what must be filled before somebody is dressed. `fits_anybody`: no size is asked."""
    require(by, Ability.RECORD)
    row = Slot(role=role, code=_code(code), name=name.strip(), kind=kind, order=order, required=required)
    row.match_group, row.usual_weight_g, row.make_days = match_group.strip(), usual_weight_g, make_days
    row.fits_anybody = fits_anybody
    keep(row)
    row.usual_materials.set(materials_named(usual_materials))
    facts = {"slot": row.code, "name": row.name, "kind": kind, "required": required, "match_group": row.match_group}
    history.record(by, "slot added", role.subject, after=facts, reason=source)
    return row


@transaction.atomic
def edit_slot(*, by: User, slot: Slot, make_days: int | None, source: str = "") -> Slot:
    """Correct how many working days it takes to make one; None: nobody knows."""
    require(by, Ability.RECORD)
    row = Slot.objects.select_for_update(of=("self",)).select_related("role").get(pk=slot.pk)
    before = {"slot": row.code, "make_days": row.make_days}
    row.make_days = make_days
    keep(row)
    after = {"slot": row.code, "make_days": make_days}
    if after != before:
        history.record(by, "slot corrected", row.role.subject, before=before, after=after, reason=source)
    return row


@transaction.atomic
def add_set(*, by: User, role: Role, code: str, source: str = "") -> OutfitSet:
    """A new set of a role: pieces that were worn together."""
    require(by, Ability.RECORD)
    row = keep(OutfitSet(role=role, code=_code(code)))
    history.record(by, "set added", role.subject, after={"set": row.code}, reason=source)
    return row


def _code(text: str) -> str:
    clean = text.strip()
    if clean and not CODE.match(clean):
        raise Refused(
            f"“{clean[:30]}” cannot be a code: use letters, digits, points and dashes, without spaces.", field="code"
        )
    return clean
