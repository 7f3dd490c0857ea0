"""Writing the weather at the place of a call, and what its roles wear there."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.utils import timezone

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.loans.models import Call
from catalog.pieces.models import Role
from catalog.shipping.calc.heat_dress import LISTS
from catalog.shipping.heat_models import HeatDress, WeatherHour


@dataclass(frozen=True, slots=True)
class NewHour:
    """An hour of weather as somebody says it; `None` is not known."""

    day: date
    hour: int
    temp_tenths_c: int | None
    rh_percent: int | None
    sky: str = ""
    wind_tenths_ms: int | None = None
    said_by: str = ""


@dataclass(frozen=True, slots=True)
class Worn:
    """What a role wears, how heavy, how hard it works and how far it is used to the heat."""

    role: Role
    dress: str
    hood: bool = False
    weight_g: int | None = None
    work: str = ""
    used: str = HeatDress.Used.NEW
    days_before: int = 0


def check_day(call: Call, day: date) -> None:
    """Raises Refused for a day on which nothing of the call can be at the place."""
    if not call.load_on <= day <= call.back_on:
        span = f"from {call.load_on:%-d %b} to {call.back_on:%-d %b %Y}"
        raise Refused(f"{day:%-d %b %Y} is not a day of {call.reference}: it is away {span}.", field="day")


@transaction.atomic
def set_hours(*, by: User, call: Call, hours: Collection[NewHour], source: str) -> int:
    """Keep these hours; a later word on the same hour takes the place of the earlier one. How many."""
    require(by, Ability.PLAN_HEAT)
    _must_be_open(call)
    there = {(row.day, row.hour): row for row in WeatherHour.objects.select_for_update().filter(call=call)}
    for new in hours:
        check_day(call, new.day)
        row = there.get((new.day, new.hour)) or WeatherHour(call=call, day=new.day, hour=new.hour)
        row.temp_tenths_c, row.rh_percent = new.temp_tenths_c, new.rh_percent
        row.sky, row.wind_tenths_ms, row.said_by = new.sky, new.wind_tenths_ms, new.said_by.strip()
        row.source, row.recorded_at = source, timezone.now()
        keep(row)
        there[new.day, new.hour] = row
    days = sorted({new.day for new in hours})
    if days:
        told = {"weather_day": days, "hours": len(hours), "source": str(source)}
        record(by, "wrote the weather", call.subject, after=told)
    return len(hours)


@transaction.atomic
def take_out_hour(*, by: User, hour: WeatherHour) -> None:
    """The hour is not known any more."""
    require(by, Ability.PLAN_HEAT)
    _must_be_open(hour.call)
    told = {"weather_day": hour.day, "hours": hour.hour}
    hour.delete()
    record(by, "took out weather", hour.call.subject, before=told)


@transaction.atomic
def set_dresses(*, by: User, call: Call, dress_list: str, worn: Collection[Worn]) -> int:
    """What these roles wear, all by one list. Roles that are not named keep theirs; a second list is refused."""
    require(by, Ability.PLAN_HEAT)
    _must_be_open(call)
    there = {row.role_id: row for row in HeatDress.objects.select_for_update().filter(call=call)}
    named = {one.role.pk for one in worn}
    other = next((row for pk, row in there.items() if pk not in named and row.dress_list != dress_list), None)
    if other is not None:
        raise Refused(
            f"{call.reference} uses {LISTS[other.dress_list].words}; the two lists are not mixed. "
            "Change every role at once.",
            field="list",
        )
    for one in worn:
        if one.role.production_id != call.production_id:
            raise Refused(f"{one.role} is no role of {call.production}.", field="role")
        row = there.get(one.role.pk) or HeatDress(call=call, role=one.role)
        before = None if row.pk is None else _facts(row)
        row.dress_list, row.dress, row.hood, row.weight_g = dress_list, one.dress, one.hood, one.weight_g
        row.work, row.used, row.days_before = one.work, one.used, one.days_before
        if before == _facts(row):
            continue
        row.recorded_at = timezone.now()
        keep(row)
        record(by, "told what is worn in the heat", call.subject, before=before, after=_facts(row))
    return len(worn)


def _facts(row: HeatDress) -> dict[str, object]:
    return {
        "role": row.role.name,
        "worn": f"{row.dress_list}: {row.dress}{', hood' if row.hood else ''}",
        "weight_g": row.weight_g,
        "work": str(row.work),
        "used_to_heat": f"{row.used}, {row.days_before} days before",
    }


def _must_be_open(call: Call) -> None:
    if call.state == Call.State.CLOSED:
        raise WrongState(f"{call.reference} is closed.")
