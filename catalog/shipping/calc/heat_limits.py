"""How hot it may be: limits by work rate and whether the wearer is used to the heat; the table of work and rest. Pure.

ISO 7243:2017 table A.1 (classes 3 and 4 and the ranges in watts from memory) and the curves of NIOSH 2016-106, section
8; one or the other, as the chosen clothing list wants it. Nobody's own body enters: classes are of the work alone.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, log10

from catalog.shipping.calc.heat_index import f_of_c

# Watts that a kilogram worn or carried adds at a walk: from memory of the walking rows of ISO 8996 (about 165, 185 and
# 250 W/m² for 0, 10 and 30 kg at 4 km/h). Somebody who stands still pays less; the heavy side is taken on purpose.
WATTS_A_KG = 5.0


@dataclass(frozen=True, slots=True)
class WorkRate:
    """A class of work: its usual watts, from which watts it is meant, and the ISO limits for used and new people."""

    key: str
    words: str
    number: int
    watts: int
    from_watts: int
    iso_used: int
    iso_new: int

    @property
    def short(self) -> str:
        """ "very high", without its examples."""
        return self.words.partition(":")[0]


RATES: tuple[WorkRate, ...] = (
    WorkRate("resting", "resting: sits or stands, is made up", 0, 115, 100, 33, 32),
    WorkRate("low", "low: stands and moves the arms, strolls", 1, 180, 125, 30, 29),
    WorkRate("moderate", "moderate: walks, lifts, rehearses a fight slowly", 2, 300, 235, 28, 26),
    WorkRate("high", "high: walks fast, climbs, hauls", 3, 415, 360, 26, 23),
    WorkRate("very_high", "very high: runs, fights, swims", 4, 520, 465, 25, 20),
)
RATE: Mapping[str, WorkRate] = {rate.key: rate for rate in RATES}


@dataclass(frozen=True, slots=True)
class Effort:
    """The watts of the work with what is carried, and the class they fall into."""

    watts: float
    rate: WorkRate


def effort(rate: WorkRate, weight_g: int) -> Effort:
    """The work with a weight worn or carried: more watts, and the class in whose range they lie."""
    watts = rate.watts + WATTS_A_KG * weight_g / 1000
    reached = [one for one in RATES if watts >= one.from_watts]
    return Effort(watts, reached[-1])


def limit(found: Effort, *, used: bool, by: str) -> float:
    """The highest WBGT, clothing added, in °C. `by` is "iso" (a value a class) or "niosh" (a curve over the watts)."""
    if by == "iso":
        return float(found.rate.iso_used if used else found.rate.iso_new)
    return niosh_limit(found.watts, used=used)


def niosh_limit(watts: float, *, used: bool) -> float:
    """NIOSH's recommended exposure limit for people used to the heat, the alert limit for others."""
    return 56.7 - 11.5 * log10(watts) if used else 59.9 - 14.1 * log10(watts)


# NIOSH 2016-106, table 6-2 (also 2017-127): minutes of work and rest by adjusted air temperature in °F.
_CAUTION = "caution: no work in it without a competent person"
_LIGHT = {**dict.fromkeys(range(106), ""), 106: "45/15", 107: "40/20", 108: "35/25", 109: "30/30", 110: "15/45"}
_MODERATE = {
    **dict.fromkeys(range(100), ""),
    100: "45/15", 101: "40/20", 102: "35/25", 103: "30/30", 104: "30/30", 105: "25/35", 106: "20/40", 107: "15/45",
}  # fmt: skip
_HEAVY = {
    **dict.fromkeys(range(95), ""),
    95: "45/15", 96: "45/15", 97: "40/20", 98: "35/25", 99: "35/25", 100: "30/30", 101: "30/30", 102: "25/35",
    103: "20/40", 104: "20/40", 105: "15/45",
}  # fmt: skip
_SCHEDULES = {"resting": _LIGHT, "low": _LIGHT, "moderate": _MODERATE, "high": _HEAVY}
_SUN_F = {"full": 13, "partly cloudy": 7, "none": 0}
_HUMIDITY_F = ((10, -8), (20, -4), (30, 0), (40, 3), (50, 6), (60, 9))
REST_ASSUMES = (
    "The table of work and rest (NIOSH 2016-106, table 6-2) is for normal work clothing and for people who are fit, "
    "rested, under 40 and drink enough, in moving air."
)


@dataclass(frozen=True, slots=True)
class WorkRest:
    """Minutes of work and of rest in an hour ("45/15"; empty: no rests by the table), or why the table is silent."""

    schedule: str | None
    why: str
    adjusted_f: int | None = None


def adjusted_temp_f(air_f: float, rh: float, sun: str) -> int | None:
    """Air temperature with NIOSH's additions; None above 60 %, where there is no row. Between rows the higher one."""
    row = next((extra for high, extra in _HUMIDITY_F if rh <= high), None)
    return None if row is None else ceil(air_f + _SUN_F[sun] + row - 1e-9)


def work_rest(air_c: float, rh: float, sun: str, rate: WorkRate, *, normal: bool) -> WorkRest:
    """The table, only where it applies: normal clothing, no load that lifts the class out of it, its humidities."""
    if not normal:
        return WorkRest(None, "the table is for normal work clothing only")
    if rate.key not in _SCHEDULES:
        return WorkRest(None, "the table has no column for work this hard")
    adjusted = adjusted_temp_f(f_of_c(air_c), rh, sun)
    if adjusted is None:
        return WorkRest(None, "the table has no row above 60 % humidity: ask a competent person")
    said = _SCHEDULES[rate.key].get(max(adjusted, 0), _CAUTION)
    return WorkRest(said, "by NIOSH 2016-106, table 6-2", adjusted)
