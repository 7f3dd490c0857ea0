"""The heat of a call: its weather and what its roles wear, turned into answers by day and hour."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby

from catalog.loans.call_actions import whole_days
from catalog.loans.models import Call
from catalog.pieces.models import Role
from catalog.shipping.calc import heat_body
from catalog.shipping.calc.heat_dress import LISTS, Adds, DressList, adds
from catalog.shipping.calc.heat_hours import (
    SKIES,
    UNKNOWN_SKY,
    HeatVerdict,
    HourVerdict,
    Wearing,
    Weather,
    closed_spans,
    judge,
    rate_of,
    spans,
)
from catalog.shipping.calc.heat_index import BAND_SETS, HeatIndex, f_of_c, heat_index
from catalog.shipping.calc.heat_limits import Effort, effort
from catalog.shipping.heat_models import HeatDress, WeatherHour

BANDS = BAND_SETS["nws"]
_NOT_SAID = Adds(None, "what is worn has not been said")


@dataclass(frozen=True, slots=True)
class RoleHeat:
    """A role of the call with what it wears; `row` is missing where nobody said it."""

    role: Role
    row: HeatDress | None
    chosen: DressList
    adds: Adds

    @property
    def effort(self) -> Effort | None:
        """The work with what is carried; None when it was not said."""
        rate = rate_of(self.row.work) if self.row else None
        return effort(rate, (self.row.weight_g or 0) if self.row else 0) if rate else None

    @property
    def used(self) -> bool:
        """Whether the limits for people used to the heat apply to this call's people."""
        return self.row is not None and self.row.used == HeatDress.Used.USED

    def wearing(self, *, used: bool) -> Wearing:
        """For the arithmetic, for people used to the heat or new to it."""
        rate = rate_of(self.row.work) if self.row else None
        return Wearing(self.adds, rate, self.row.weight_g if self.row else None, used, self.chosen.limits)

    def shares(self, days: Sequence[date]) -> list[tuple[date, int]]:
        """At most so many per cent of the usual time in the heat, day by day."""
        state, before = (self.row.used, self.row.days_before) if self.row else (heat_body.NEW, 0)
        first = days[0] if days else date.min
        return [(day, heat_body.share_of_usual(state, before + (day - first).days + 1)) for day in days]


@dataclass(frozen=True, slots=True)
class Column:
    """A role and people used to the heat or new to it; `applies` where this call's people are such."""

    role: RoleHeat
    used: bool

    @property
    def applies(self) -> bool:
        """Whether this column is the one for the people of the call."""
        return self.role.used == self.used

    @property
    def words(self) -> str:
        """For a heading."""
        return "used to the heat" if self.used else "new to the heat"


@dataclass(frozen=True, slots=True)
class HourRow:
    """One hour: its weather, the heat index in the shade, and an answer a column."""

    hour: int
    row: WeatherHour | None
    index: HeatIndex | None
    cells: tuple[HourVerdict, ...]
    columns: tuple[Column, ...]

    @property
    def paired(self) -> list[tuple[Column, HourVerdict]]:
        """Each column with its answer."""
        return list(zip(self.columns, self.cells, strict=True))

    @property
    def band(self) -> str:
        """The heat index's band."""
        return BANDS.band(self.index) if self.index else ""


@dataclass(frozen=True, slots=True)
class DayHeat:
    """Days that follow each other and have the same weather, with their hours."""

    first: date
    last: date
    hours: tuple[HourRow, ...]

    def closed(self, place: int) -> list[tuple[int, int]]:
        """Spans in which nobody of the column may wear it; hours that nobody knows between two of them count in."""
        return closed_spans((hour.hour, hour.cells[place].verdict) for hour in self.hours)

    def open(self, place: int) -> list[tuple[int, int]]:
        """Spans in which even the upper bound is within the limit."""
        return spans([hour.hour for hour in self.hours if hour.cells[place].verdict is HeatVerdict.MAY])

    @property
    def unknown(self) -> list[int]:
        """Hours inside the day for which nothing is written."""
        return [hour.hour for hour in self.hours if hour.row is None]

    @property
    def hottest(self) -> HourRow | None:
        """The hour of the highest heat index."""
        return max((one for one in self.hours if one.index), key=lambda one: one.index.value_f, default=None)  # type: ignore[union-attr]


@dataclass(frozen=True, slots=True)
class CallHeat:
    """Everything the page tells."""

    chosen: DressList
    roles: tuple[RoleHeat, ...]
    columns: tuple[Column, ...]
    days: tuple[DayHeat, ...]
    use_days: tuple[date, ...]

    @property
    def known(self) -> bool:
        """Whether there is anything to answer from."""
        return bool(self.days and any(role.row for role in self.roles))

    @property
    def bare_days(self) -> list[date]:
        """Days of use without a single hour of weather."""
        told = {day for one in self.days for day in _each(one.first, one.last)}
        return [day for day in self.use_days if day not in told]


def call_heat(call: Call) -> CallHeat:
    """Weather and dress of the call, judged; four queries, however many hours and roles."""
    dresses = {row.role_id: row for row in HeatDress.objects.filter(call=call).select_related("role")}
    key = next((row.dress_list for row in dresses.values()), "iso")
    chosen = LISTS[key]
    asked = [need.role for need in call.needs.select_related("role")]
    others = [row.role for row in dresses.values() if row.role_id not in {role.pk for role in asked}]
    roles = tuple(_role(role, dresses.get(role.pk), chosen) for role in [*asked, *others])
    columns = tuple(Column(role, used) for role in roles for used in (False, True))
    hours = list(WeatherHour.objects.filter(call=call))
    return CallHeat(chosen, roles, columns, tuple(_days(hours, columns)), tuple(whole_days(call)))


def _role(role: Role, row: HeatDress | None, chosen: DressList) -> RoleHeat:
    return RoleHeat(role, row, chosen, adds(row.dress, row.hood, chosen) if row else _NOT_SAID)


def _days(hours: Sequence[WeatherHour], columns: Sequence[Column]) -> Iterator[DayHeat]:
    """Days in order; those that follow each other with the same weather are told once."""
    days = [(day, tuple(rows)) for day, rows in groupby(hours, key=lambda row: row.day)]
    start = 0
    for place in range(1, len(days) + 1):
        if place < len(days) and _same(days[place - 1], days[place]):
            continue
        yield DayHeat(days[start][0], days[place - 1][0], _hours(days[start][1], columns))
        start = place


def _same(one: tuple[date, tuple[WeatherHour, ...]], following: tuple[date, tuple[WeatherHour, ...]]) -> bool:
    facts = [[(r.hour, r.temp_tenths_c, r.rh_percent, r.sky, r.wind_tenths_ms) for r in rows[1]] for rows in
             (one, following)]  # fmt: skip
    return following[0] - one[0] == timedelta(days=1) and facts[0] == facts[1]


def _hours(rows: Sequence[WeatherHour], columns: Sequence[Column]) -> tuple[HourRow, ...]:
    """Every hour from the first that is written to the last; what is missing between stands as unknown."""
    by_hour = {row.hour: row for row in rows}
    return tuple(_hour(hour, by_hour.get(hour), columns) for hour in range(min(by_hour), max(by_hour) + 1))


def _hour(hour: int, row: WeatherHour | None, columns: Sequence[Column]) -> HourRow:
    weather = None
    index = None
    if row is not None:
        weather = Weather(row.temp_c, row.rh_percent, SKIES.get(row.sky, UNKNOWN_SKY), row.wind_ms)
        if row.temp_c is not None and row.rh_percent is not None:
            index = heat_index(f_of_c(row.temp_c), row.rh_percent)
    cells = tuple(judge(weather, column.role.wearing(used=column.used)) for column in columns)
    return HourRow(hour, row, index, cells, tuple(columns))


def _each(first: date, last: date) -> Iterator[date]:
    for number in range((last - first).days + 1):
        yield first + timedelta(days=number)


def spans_words(found: Sequence[tuple[int, int]]) -> str:
    """ "06:00 to 10:00 and 12:00 to 18:00"."""
    told = [f"{first:02d}:00 to {last:02d}:00" for first, last in found]
    return " and ".join([", ".join(told[:-1]), told[-1]] if len(told) > 1 else told)


def questions(found: CallHeat) -> list[tuple[str, str]]:
    """What is not known, and who can say."""
    told: list[tuple[str, str]] = []
    if found.bare_days:
        days = ", ".join(f"{day:%-d %b}" for day in found.bare_days)
        told.append((f"The weather of {days}.", "the weather service, or the location manager"))
    for one in found.days:
        if one.unknown:
            hours = ", ".join(f"{hour:02d}" for hour in one.unknown)
            told.append((f"The weather of the hours {hours} on {_span(one)}.", "the weather service"))
        if outside := [hour for hour in range(24) if not one.hours[0].hour <= hour <= one.hours[-1].hour]:
            when = f"{spans_words(spans(outside))}, on {_span(one)}"
            words = f"The weather outside the written hours, {when}: nobody may plan on it."
            told.append((words, "the weather service"))
    rows = [hour.row for one in found.days for hour in one.hours if hour.row]
    if rows and (bare := Counter(row.wind_tenths_ms is None for row in rows)[True]):
        words = f"The wind of {'all' if bare == len(rows) else bare} hours: still air makes every hour hotter."
        told.append((words, "the weather service"))
    if rows and any(not row.sky for row in rows):
        told.append(("Sun or shade, where it is not said: taken as full sun.", "the location manager"))
    for role in found.roles:
        told += list(_role_questions(role))
    if rows:
        told.append(("The WBGT itself: a meter at the place, where the people stand.", "the medic or safety adviser"))
    return told


def _role_questions(found: RoleHeat) -> Iterator[tuple[str, str]]:
    name, row = found.role.name, found.row
    if row is None:
        yield f"{name}: what is worn.", "the wardrobe lead"
        return
    if row.weight_g is None:
        yield f"{name}: what the full dress weighs.", "the wardrobe lead"
    if not row.work:
        yield f"{name}: how hard the work is.", "the assistant director"
    if found.adds.assumed:
        yield f"{name}: what the suit adds; +11 is assumed.", "a competent person: an occupational hygienist"


def _span(one: DayHeat) -> str:
    return f"{one.first:%-d %b}" if one.first == one.last else f"{one.first:%-d %b} to {one.last:%-d %b}"


def answer(found: CallHeat) -> str:
    """The answer in one sentence: who may not wear what, at which hours, for the people the call has."""
    if not found.days:
        return "Nobody can say yet: no weather is written."
    if not any(role.row for role in found.roles):
        return "Nobody can say yet: what the roles wear has not been said."
    closed: dict[tuple[str, str], list[str]] = {}
    for place, column in enumerate(found.columns):
        if column.applies:
            for one in found.days:
                if hours := one.closed(place):
                    closed.setdefault((_span(one), spans_words(hours)), []).append(column.role.role.name)
    if not closed:
        return "No hour is closed by the heat alone; where it says measure first, nobody starts before it is measured."
    (when, spell), names = max(closed.items(), key=lambda item: len(item[0][1]))
    who = " or ".join(names)
    return f"Nobody may wear the full dress of {who} from {spell} on {when}."
