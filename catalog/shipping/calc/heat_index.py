"""The heat index of the US National Weather Service, whole: cool branch, regression, both adjustments. Pure.

Rothfusz 1990 (NWS technical attachment SR 90-23) and the heat-index equation page of the Weather Prediction Center.
It is worked out in degrees Fahrenheit, as published, and stands for shade and a light wind: full sun adds up to 15 °F.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from math import sqrt

# What direct sun may add to a value of the shade, in °F: NWS and OSHA.
SUN_ADDS_F = 15.0


@dataclass(frozen=True, slots=True)
class HeatIndex:
    """A heat index in °F and the branch of the algorithm that gave it."""

    value_f: float
    branch: str

    @property
    def rounded_f(self) -> int:
        """To the whole degree, halves upward, as the bands want it."""
        return int(Decimal(repr(self.value_f)).quantize(Decimal(1), rounding=ROUND_HALF_UP))

    @property
    def value_c(self) -> float:
        """In degrees Celsius."""
        return c_of_f(self.value_f)


@dataclass(frozen=True, slots=True)
class BandSet:
    """Names for heat indices; each line is the lowest whole °F of its band. Which set was used must be told."""

    key: str
    words: str
    lines: tuple[tuple[int, str], ...]
    below: str

    def band(self, index: HeatIndex) -> str:
        """The band's word."""
        reached = [word for low, word in self.lines if index.rounded_f >= low]
        return reached[-1] if reached else self.below


_PUBLIC = ("caution", "extreme caution", "danger", "extreme danger")
BAND_SETS: Mapping[str, BandSet] = {
    "nws": BandSet(
        "nws", "NWS, newer pages (80, 90, 103, 125 °F)", tuple(zip((80, 90, 103, 125), _PUBLIC, strict=True)), "none"
    ),
    "nws_old": BandSet(
        "nws_old",
        "NWS, older pages (80, 90, 105, 130 °F)",
        tuple(zip((80, 90, 105, 130), _PUBLIC, strict=True)),
        "none",
    ),
    # "Moderate" is 91 to 103 °F, "high" above 103 to 115, "very high" above 115.
    "osha": BandSet(
        "osha",
        "OSHA worksites (91, 103, 115 °F)",
        ((91, "moderate"), (103, "high"), (116, "very high")),
        "lower",
    ),
}


def f_of_c(celsius: float) -> float:
    """Degrees Fahrenheit of degrees Celsius."""
    return celsius * 9 / 5 + 32


def c_of_f(fahrenheit: float) -> float:
    """Degrees Celsius of degrees Fahrenheit."""
    return (fahrenheit - 32) * 5 / 9


def heat_index(temp_f: float, rh: float) -> HeatIndex:
    """The whole algorithm for an air temperature in °F and a relative humidity in per cent."""
    simple = 0.5 * (temp_f + 61 + (temp_f - 68) * 1.2 + rh * 0.094)
    mean = (simple + temp_f) / 2
    if mean < 80:
        return HeatIndex(mean, "simple_avg")
    value = regression(temp_f, rh)
    if rh < 13 and 80 <= temp_f <= 112:
        value -= (13 - rh) / 4 * sqrt((17 - abs(temp_f - 95)) / 17)
        return HeatIndex(value, "regression-low_rh")
    if rh > 85 and 80 <= temp_f <= 87:
        return HeatIndex(value + (rh - 85) / 10 * (87 - temp_f) / 5, "regression+high_rh")
    return HeatIndex(value, "regression")


def regression(t: float, r: float) -> float:
    """Rothfusz's polynomial alone, in °F; the printed table comes from it."""
    return (
        -42.379
        + 2.04901523 * t
        + 10.14333127 * r
        - 0.22475541 * t * r
        - 6.83783e-3 * t * t
        - 5.481717e-2 * r * r
        + 1.22874e-3 * t * t * r
        + 8.5282e-4 * t * r * r
        - 1.99e-6 * t * t * r * r
    )
