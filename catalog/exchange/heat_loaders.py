"""Loading the weather at the place of a call and what its roles wear: gathered row by row, then stored as one."""

from datetime import date

from catalog.core.errors import Refused
from catalog.exchange.calc.rows import Row
from catalog.exchange.loading import Loading, only
from catalog.exchange.reading import PASTED
from catalog.loans.call_actions import whole_days
from catalog.loans.models import Call
from catalog.shipping import heat_actions as heat
from catalog.shipping.heat_models import WeatherHour


def gather_hours(to: Loading, row: Row) -> None:
    """One hour of one day, or of every day of use where the row names none. Twice the same hour is refused."""
    call = _call(to)
    days: list[date] = [row.values["day"]] if "day" in row.values else whole_days(call)
    taken = {(one.day, one.hour) for one in to.gathered}
    wind = row.get("wind")
    for day in days:
        heat.check_day(call, day)
        if (day, row.values["hour"]) in taken:
            raise Refused(f"{day:%-d %b %Y}, {row.values['hour']:02d}:00 stands in an earlier row.", field="hour")
        new = heat.NewHour(
            day=day,
            hour=row.values["hour"],
            temp_tenths_c=row.get("temp"),
            rh_percent=row.get("rh"),
            sky=row.get("sky", ""),
            wind_tenths_ms=None if wind is None else round(wind * 10),
            said_by=row.get("said_by", ""),
        )
        to.gathered.append(new)


def keep_hours(to: Loading) -> None:
    """All hours at once, with one line of history."""
    source = WeatherHour.Source.PASTED if to.source == f"from {PASTED}" else WeatherHour.Source.TABLE
    number = heat.set_hours(by=to.by, call=_call(to), hours=to.gathered, source=source)
    to.count("hour of weather", number)


def gather_dress(to: Loading, row: Row) -> None:
    """What one role wears; the first row says which list the table uses."""
    if to.gathered and to.gathered[0][0] != row.values["list"]:
        raise Refused("the two clothing lists are not mixed in one call.", field="list")
    facts = only(row.values, dress="dress", hood="hood", weight_g="weight", work="work", used="used")
    days = row.get("days_before", 0)
    to.gathered.append((row.values["list"], heat.Worn(role=to.role(row), days_before=days, **facts)))


def keep_dresses(to: Loading) -> None:
    """All roles at once, so that the lists cannot mix."""
    worn = [one for _, one in to.gathered]
    heat.set_dresses(by=to.by, call=_call(to), dress_list=to.gathered[0][0], worn=worn)
    to.count("dress in the heat", len(worn))


def _call(to: Loading) -> Call:
    if to.call is None:
        raise Refused("say which call this table is for.")
    return to.call
