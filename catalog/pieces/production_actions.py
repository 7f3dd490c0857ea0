"""Writing productions, roles, looks, slots and sets."""

import re
from collections.abc import Iterable

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import history
from catalog.core.checks import keep
from catalog.core.errors import Refused
from catalog.pieces.calc.materials import family_of
from catalog.pieces.models import Look, Material, OutfitSet, Production, Role, Slot

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
def edit_production(
    *,
    by: User,
    production: Production,
    title: str | None = None,
    year: int | None = None,
    world: str | None = None,
    closed: bool | None = None,
) -> Production:
    """Correct a production or close it to visitors; what is not given stays. The code never changes."""
    require(by, Ability.RECORD)
    row = Production.objects.select_for_update().get(pk=production.pk)
    names = ("title", "year", "world", "closed")
    before = {name: getattr(row, name) for name in names}
    given = {"title": title, "year": year, "world": world, "closed": closed}
    for name, value in given.items():
        if value is not None:
            setattr(row, name, value)
    keep(row)
    was, now = history.changed(before, {name: getattr(row, name) for name in names})
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
    source: str = "",
) -> Slot:
    """A new slot of a role: what must be filled before somebody is dressed."""
    require(by, Ability.RECORD)
    row = Slot(role=role, code=_code(code), name=name.strip(), kind=kind, order=order, required=required)
    row.match_group, row.usual_weight_g, row.make_days = match_group.strip(), usual_weight_g, make_days
    keep(row)
    row.usual_materials.set(materials_named(usual_materials))
    facts = {"slot": row.code, "name": row.name, "kind": kind, "required": required, "match_group": row.match_group}
    history.record(by, "slot added", role.subject, after=facts, reason=source)
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
