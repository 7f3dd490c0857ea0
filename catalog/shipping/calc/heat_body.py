"""Water, and the days a body needs to get used to the heat. Figures of NIOSH for everybody; nobody's own body. Pure."""

from collections.abc import Mapping

# NIOSH 2017-126: 8 US fluid ounces each 15 to 20 minutes; never above 48 an hour. In millilitres.
WATER_GLASS_ML, WATER_EVERY_MIN = 240, (15, 20)
WATER_ML_AN_HOUR = (720, 960)
WATER_MOST_ML_AN_HOUR = 1440
WATER = (
    "About 240 ml each 15 to 20 minutes (0.7 to 1 litre an hour), never more than 1.4 litres an hour; over long spells "
    "something with salts (NIOSH 2017-126; the salts from memory)."
)
NEW, RETURNING, USED = "new", "returning", "used"
WORDS: Mapping[str, str] = {
    NEW: "new to the heat",
    RETURNING: "has done this work in heat before, but not lately",
    USED: "used to this heat: at work in it for the last week or longer",
}
# Per cent of the usual time in the heat by day: NIOSH 2016-106 and its poster of 2014.
_SHARES = {NEW: (20, 40, 60, 80), RETURNING: (50, 60, 80)}


def share_of_usual(state: str, day: int) -> int:
    """At most so many per cent of the usual time in the heat on this day of it; day 1 is the first in the heat."""
    shares = _SHARES.get(state, ())
    if state == USED:
        return 100
    if not shares:
        return _SHARES[NEW][0]
    return shares[max(day, 1) - 1] if day <= len(shares) else 100


def water_ml(hours: float) -> tuple[int, int, int]:
    """From, to and never more than, for so many hours in the heat, in millilitres."""
    return (
        round(WATER_ML_AN_HOUR[0] * hours),
        round(WATER_ML_AN_HOUR[1] * hours),
        round(WATER_MOST_ML_AN_HOUR * hours),
    )
