"""Which role may work in which hour: no, unknown, measure first, or may. Values in, reasons out. Pure.

"No" where even the lower bound of the WBGT with the clothing exceeds the limit; "may" only where the upper bound is
within it and nothing is assumed; between the two only a meter at the place can tell. A missing fact never gives "may".
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from catalog.shipping.calc.heat_dress import Adds
from catalog.shipping.calc.heat_limits import RATE, WorkRate, WorkRest, effort, limit, work_rest
from catalog.shipping.calc.wbgt import WbgtRange, wbgt_range

CAUTION = (
    "This supports, and never replaces, the medic, the law and the safety bulletin of the place. It knows no person: "
    "who feels unwell stops, whatever the table says."
)


class HeatVerdict(StrEnum):
    """May somebody in this dress work in this hour? From best to worst."""

    MAY = "may"
    MEASURE = "measure first"
    UNKNOWN = "unknown"
    NO = "no"

    @property
    def rank(self) -> int:
        """0 for the best."""
        return list(HeatVerdict).index(self)


@dataclass(frozen=True, slots=True)
class Sky:
    """What stands above the place: its words, whether anything radiates, and NIOSH's word for its sun."""

    key: str
    words: str
    radiates: bool
    sun: str


SKIES: dict[str, Sky] = {
    sky.key: sky
    for sky in (
        Sky("sun", "full sun", True, "full"),
        Sky("partly cloudy", "sun and cloud", True, "partly cloudy"),
        Sky("shade", "shade by day", True, "none"),
        # A sheet of metal in the sun is hot: nothing published was found, so it is never better than the sun.
        Sky("tin roof", "under a tin roof", True, "full"),
        Sky("lamps", "indoors under lamps", True, "full"),
        Sky("indoors", "indoors, nothing hot near", False, "none"),
        Sky("night", "night", False, "none"),
    )
}
UNKNOWN_SKY = Sky("", "sun or shade not said", True, "full")


@dataclass(frozen=True, slots=True)
class Weather:
    """One hour at the place; `None` is not known."""

    temp_c: float | None
    rh: float | None
    sky: Sky = UNKNOWN_SKY
    wind: float | None = None


@dataclass(frozen=True, slots=True)
class Wearing:
    """What a role wears and does. An unknown weight is not nothing: it can never give "may"."""

    adds: Adds
    rate: WorkRate | None
    weight_g: int | None
    used: bool
    limits: str


@dataclass(frozen=True, slots=True)
class HourVerdict:
    """The answer for one hour, with the figures it came from."""

    verdict: HeatVerdict
    why: str
    wbgt: WbgtRange | None = None
    worn: WbgtRange | None = None
    limit: float | None = None
    rest: WorkRest | None = None


def judge(weather: Weather | None, wearing: Wearing) -> HourVerdict:
    """One hour for one role."""
    adds, rate = wearing.adds, wearing.rate
    if weather is None or weather.temp_c is None or weather.rh is None or adds.value is None or rate is None:
        return HourVerdict(HeatVerdict.UNKNOWN, f"{_missing(weather, wearing)}.")
    found = wbgt_range(weather.temp_c, weather.rh, radiates=weather.sky.radiates, wind=weather.wind)
    worn = WbgtRange(found.low + adds.value, found.high + adds.value)
    work = effort(rate, wearing.weight_g or 0)
    highest = limit(work, used=wearing.used, by=wearing.limits)
    rest = work_rest(weather.temp_c, weather.rh, weather.sky.sun, work.rate, normal=adds.normal)
    verdict, why = _compared(worn, highest, adds, wearing.weight_g)
    return HourVerdict(verdict, why, found, worn, highest, rest)


def _missing(weather: Weather | None, wearing: Wearing) -> str:
    if weather is None:
        return "no weather is entered for this hour"
    if weather.temp_c is None or weather.rh is None:
        return "temperature or humidity is not known"
    if wearing.adds.value is None:
        return wearing.adds.why.rstrip(".")
    return "how hard the work is has not been said"


def _compared(worn: WbgtRange, highest: float, adds: Adds, weight_g: int | None) -> tuple[HeatVerdict, str]:
    if worn.low > highest:
        return HeatVerdict.NO, f"even the lower bound {worn.low:.1f} °C is above the limit of {highest:.1f} °C."
    if worn.high > highest:
        return (
            HeatVerdict.MEASURE,
            f"between {worn.low:.1f} and {worn.high:.1f} °C, the limit is {highest:.1f} °C: measure at the place.",
        )
    if adds.assumed:
        return HeatVerdict.MEASURE, "what the dress adds is assumed: measure, and a competent person decides."
    if weight_g is None:
        return HeatVerdict.MEASURE, "what is worn and carried was not weighed."
    return HeatVerdict.MAY, f"even the upper bound {worn.high:.1f} °C is within the limit of {highest:.1f} °C."


def spans(hours: Sequence[int]) -> list[tuple[int, int]]:
    """Hours as spans from the first to the end of the last: [10, 11, 12] is 10 to 13."""
    found: list[tuple[int, int]] = []
    for hour in sorted(set(hours)):
        if found and found[-1][1] == hour:
            found[-1] = (found[-1][0], hour + 1)
        else:
            found.append((hour, hour + 1))
    return found


def closed_spans(verdicts: Iterable[tuple[int, HeatVerdict]]) -> list[tuple[int, int]]:
    """Spans in which nobody may: they begin and end with a "no" and bridge only what is not known, which is no yes."""
    known = dict(verdicts)
    no = sorted(hour for hour, verdict in known.items() if verdict is HeatVerdict.NO)
    bridged = set(no)
    for one, following in pairwise(no):
        between = range(one + 1, following)
        if all(known.get(hour, HeatVerdict.UNKNOWN) is HeatVerdict.UNKNOWN for hour in between):
            bridged.update(between)
    return spans(sorted(bridged))


def worst_of(verdicts: Iterable[HeatVerdict]) -> HeatVerdict:
    """The worst; unknown, when there are none."""
    return max(verdicts, key=lambda verdict: verdict.rank, default=HeatVerdict.UNKNOWN)


def rate_of(key: str) -> WorkRate | None:
    """The class of work of this word; None when it was not said."""
    return RATE.get(key)
