"""Taking a call and changing it: what is asked, how many in each role, and who is to be dressed."""

import re
from collections.abc import Collection
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import ProtectedError

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import clock
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.loans import queries
from catalog.loans.models import Call, CallNeed, Loan, Wearer, WearerDay
from catalog.pieces.models import Look, Production, Role

# A reference stands in addresses and on papers.
REFERENCE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")

_EDITABLE = (
    "title",
    "purpose",
    "asked_by",
    "where",
    "look",
    "first_day",
    "last_day",
    "cover_day",
    "fittings_from",
    "fittings_to",
    "load_on",
    "back_on",
    "close_up",
    "wet_or_dusty",
    "note",
)


def check_reference(reference: str) -> str:
    """The reference without outer blanks; raises Refused when it cannot stand in an address."""
    reference = reference.strip()
    if not REFERENCE.fullmatch(reference):
        raise Refused("A reference is letters, digits, dots and dashes, without blanks.", field="reference")
    return reference


@transaction.atomic
def take_call(
    *,
    by: User,
    reference: str,
    title: str,
    production: Production,
    where: str,
    first_day: date,
    last_day: date,
    load_on: date,
    back_on: date,
    received_on: date,
    purpose: str = Call.Purpose.RESHOOT,
    asked_by: str = "",
    look: Look | None = None,
    cover_day: date | None = None,
    fittings_from: date | None = None,
    fittings_to: date | None = None,
    close_up: bool = False,
    wet_or_dusty: bool = False,
    note: str = "",
) -> Call:
    """Store what a production asks for. Nothing is held by it. Raises WrongValues for dates out of order."""
    require(by, Ability.CALL)
    refuse_unless_past(received_on=received_on)
    call = Call(
        reference=check_reference(reference),
        title=title.strip(),
        production=production,
        purpose=purpose,
        asked_by=asked_by.strip(),
        received_on=received_on,
        where=where.strip(),
        look=look,
        first_day=first_day,
        last_day=last_day,
        cover_day=cover_day,
        fittings_from=fittings_from,
        fittings_to=fittings_to,
        load_on=load_on,
        back_on=back_on,
        close_up=close_up,
        wet_or_dusty=wet_or_dusty,
        note=note.strip(),
    )
    _only_own_look(call)
    keep(call)
    record(by, "took the call", call.subject, after={"reference": call.reference, **_facts(call)})
    return call


@transaction.atomic
def edit_call(*, by: User, call: Call, **changes: Any) -> Call:
    """Change facts of an open call. Performers free on all days before are free on all days after."""
    require(by, Ability.CALL)
    _must_be_open(call)
    unknown = set(changes) - set(_EDITABLE)
    if unknown:
        raise ValueError(f"A call's {', '.join(sorted(unknown))} cannot be changed.")
    before, old_days = _facts(call), set(whole_days(call))
    for field, value in changes.items():
        setattr(call, field, value)
    _only_own_look(call)
    keep(call)
    changed = {key: value for key, value in _facts(call).items() if value != before[key]}
    if changed:
        record(by, "changed the call", call.subject, before={key: before[key] for key in changed}, after=changed)
    if old_days != set(whole_days(call)):
        _carry_days(call, old_days)
    return call


@transaction.atomic
def set_need(*, by: User, call: Call, role: Role, count: int) -> CallNeed | None:
    """So many performers in this role; 0 takes the role off the call and gives None."""
    require(by, Ability.CALL)
    _must_be_open(call)
    if role.production_id != call.production_id:
        raise Refused(f"{role} is no role of {call.production}.", field="role")
    need = CallNeed.objects.filter(call=call, role=role).first()
    was = need.count if need else 0
    if count == was:
        return need
    if count == 0:
        if need:
            need.delete()
        need = None
    else:
        need = need or CallNeed(call=call, role=role)
        need.count = count
        keep(need)
    line = {"role": role.name, "count": count}
    record(by, "asked for", call.subject, before=line | {"count": was}, after=line)
    return need


@transaction.atomic
def add_wearer(
    *, by: User, call: Call, number: str, name: str, days: Collection[date] | None = None, minor: bool = False
) -> Wearer:
    """Put a performer on the call's list. `days` None: free on every day of use and on the weather cover."""
    require(by, Ability.CALL)
    _must_be_open(call)
    if not REFERENCE.fullmatch(number.strip()):
        raise Refused("A performer's number is letters, digits, dots and dashes, without blanks.", field="number")
    wearer = Wearer(call=call, number=number.strip(), name=name.strip(), minor=minor)
    keep(wearer)
    free = _write_days(wearer, whole_days(call) if days is None else days)
    record(by, "listed a performer", call.subject, after={"performer": wearer.number, "days": free})
    return wearer


@transaction.atomic
def edit_wearer(
    *,
    by: User,
    wearer: Wearer,
    name: str | None = None,
    days: Collection[date] | None = None,
    minor: bool | None = None,
) -> Wearer:
    """Change a performer's name, free days or whether under 18. The name never enters the history."""
    require(by, Ability.CALL)
    _must_be_open(wearer.call)
    if name is not None:
        wearer.name = name.strip()
    if minor is not None:
        wearer.minor = minor
    keep(wearer)
    after: dict[str, Any] = {"performer": wearer.number}
    if days is not None:
        wearer.free_days.all().delete()
        after["days"] = _write_days(wearer, days)
    record(by, "changed a performer", wearer.call.subject, after=after)
    return wearer


@transaction.atomic
def remove_wearer(*, by: User, wearer: Wearer) -> None:
    """Take a performer off the list. Raises Refused while sizes or pieces hang on the performer."""
    require(by, Ability.CALL)
    _must_be_open(wearer.call)
    call, number = wearer.call, wearer.number
    try:
        wearer.delete()
    except ProtectedError as kept:
        raise Refused(f"Performer {number} has sizes, a plan or pieces: delete those first.") from kept
    record(by, "took a performer off", call.subject, after={"performer": number})


@transaction.atomic
def close_call(*, by: User, call: Call) -> Call:
    """Close the call once nothing of it is open: its loans are closed, and no hold or pencil keeps a piece for it."""
    require(by, Ability.CALL)
    _must_be_open(call)
    still = [loan.reference for loan in call.loans.exclude(state=Loan.State.CLOSED)]
    if still:
        raise WrongState(f"The call cannot close: {', '.join(still)} is not closed yet.")
    standing = queries.standing_of(call, clock.today())
    if standing:
        named = ", ".join(one.reference for one in standing)
        keeps = (
            "still keeps pieces for it: release it" if len(standing) == 1 else "still keep pieces for it: release them"
        )
        raise WrongState(f"The call cannot close: {named} {keeps} first.")
    call.state = Call.State.CLOSED
    keep(call)
    record(by, "closed the call", call.subject, before={"state": "open"}, after={"state": "closed"})
    return call


def whole_days(call: Call) -> list[date]:
    """The days of use and the weather cover."""
    return sorted({*call.days(), *([call.cover_day] if call.cover_day else [])})


def _facts(call: Call) -> dict[str, Any]:
    return {field: getattr(call, field) for field in ("production", *_EDITABLE)}


def _must_be_open(call: Call) -> None:
    if call.state == Call.State.CLOSED:
        raise WrongState(f"{call.reference} is closed.")


def _only_own_look(call: Call) -> None:
    if call.look is not None and call.look.production_id != call.production_id:
        raise Refused(f"{call.look} is no look of {call.production}.", field="look")


def _write_days(wearer: Wearer, days: Collection[date]) -> list[date]:
    asked, free = set(whole_days(wearer.call)), sorted(set(days))
    outside = [day for day in free if day not in asked]
    if outside:
        raise Refused(f"{outside[0]:%-d %b %Y} is no day of {wearer.call.reference}.", field="days")
    WearerDay.objects.bulk_create(WearerDay(wearer=wearer, day=day) for day in free)
    return free


def _carry_days(call: Call, old_days: set[date]) -> None:
    """After a change of dates: days that fell away go, and who was always free stays always free."""
    new_days = set(whole_days(call))
    for wearer in call.wearers.prefetch_related("free_days"):
        had = {free.day for free in wearer.free_days.all()}
        wanted = new_days if had >= old_days else had & new_days
        wearer.free_days.exclude(day__in=wanted).delete()
        WearerDay.objects.bulk_create(WearerDay(wearer=wearer, day=day) for day in sorted(wanted - had))
