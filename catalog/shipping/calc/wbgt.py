"""Wet-bulb globe temperature: the two formulas for what was measured, and two bounds from a weather table alone. Pure.

A forecast has no globe and no natural wet bulb, so it cannot give a WBGT; it can say between which two values it lies.
Only a meter at the place says more. Degrees Celsius throughout.
"""

from dataclasses import dataclass
from math import atan, exp, log10

# Stull's fit against the psychrometer: at most so much too high or too low, in °C (from memory of the paper).
_STULL_TOO_HIGH, _STULL_TOO_LOW = 0.65, 1.0
STILL_AIR, WINDY = 0.3, 3.0
LOWER_METHOD = (
    "Lower bound: WBGT in full shade from air temperature and humidity alone; wet bulb by Stull (2011), natural wet "
    "bulb and globe by Bernard as in Lemke and Kjellstrom (2012); coefficients from memory."
)
UPPER_METHOD = (
    "Upper bound where sun, sky, a hot roof or lamps radiate: the sun screen of the Bureau of Meteorology (strong sun, "
    "light wind; coefficients from memory), which reads too high in cloud, wind and at night. For a hot roof no "
    "published estimate was found; the sun screen stands in."
)


@dataclass(frozen=True, slots=True)
class WbgtRange:
    """Between which values the WBGT lies."""

    low: float
    high: float


def wbgt_in_sun(natural_wet_bulb: float, globe: float, air: float) -> float:
    """ISO 7243:2017, outdoors with sun, from three instruments."""
    return 0.7 * natural_wet_bulb + 0.2 * globe + 0.1 * air


def wbgt_without_sun(natural_wet_bulb: float, globe: float) -> float:
    """ISO 7243:2017, indoors or without sun, from two instruments."""
    return 0.7 * natural_wet_bulb + 0.3 * globe


def vapour_pressure_hpa(air: float, rh: float) -> float:
    """Water vapour pressure, as the sun screen wants it."""
    return rh / 100 * 6.105 * exp(17.27 * air / (237.7 + air))


def sun_screen(air: float, rh: float) -> float:
    """The estimate of the Australian Bureau of Meteorology: assumes strong sun and a light wind."""
    return 0.567 * air + 0.393 * vapour_pressure_hpa(air, rh) + 3.94


def wet_bulb(air: float, rh: float) -> float:
    """Psychrometric wet bulb at sea level by Stull (2011), for 5 to 99 %; beyond that the nearest it holds for."""
    r = min(max(rh, 5.0), 99.0)
    found: float = (
        air * atan(0.151977 * (r + 8.313659) ** 0.5)
        + atan(air + r)
        - atan(r - 1.676331)
        + 0.00391838 * r * r**0.5 * atan(0.023101 * r)
        - 4.686035
    )
    return min(found, air)


def shade_wbgt(air: float, wet: float, wind: float) -> float:
    """Where nothing radiates, from air temperature, psychrometric wet bulb and wind in m/s."""
    v = min(max(wind, STILL_AIR), WINDY)
    return 0.67 * wet + 0.33 * air - 0.048 * log10(v) * (air - wet)


def wbgt_range(air: float, rh: float, *, radiates: bool, wind: float | None) -> WbgtRange:
    """The two bounds. Unknown wind is taken as strong for the lower one and as none for the upper one."""
    wet = wet_bulb(air, rh)
    low = shade_wbgt(air, wet - _STULL_TOO_HIGH, WINDY if wind is None else wind)
    shade = shade_wbgt(air, min(wet + _STULL_TOO_LOW, air), STILL_AIR if wind is None else wind)
    high = max(shade, sun_screen(air, rh)) if radiates else shade
    return WbgtRange(low, max(low, high))
