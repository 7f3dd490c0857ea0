"""How long ago things were seen: shares within so many years, and the typical age. Days in, figures out."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from catalog.pieces.calc.values import newest_stale

# Within how many years; the last band is everything older, and what nobody ever saw.
YEARS = (1, 2, 5)


@dataclass(slots=True)
class Seen:
    """Things by when they were last seen. Counts and amounts are cumulative: within a year, two, five."""

    things: int = 0
    within: list[int] = field(default_factory=lambda: [0] * len(YEARS))
    never: int = 0
    oldest: date | None = None
    ages: list[int | None] = field(default_factory=list)

    def add(self, last_seen: date | None, today: date) -> None:
        """One more thing."""
        self.things += 1
        if last_seen is None:
            self.never += 1
            self.ages.append(None)
            return
        self.ages.append(max((today - last_seen).days, 0))
        self.oldest = min(filter(None, (self.oldest, last_seen)))
        for place, years in enumerate(YEARS):
            if last_seen > newest_stale(today, years):
                self.within[place] += 1

    @property
    def shares(self) -> list[int | None]:
        """Each in whole per cent, rounded down so that "100 %" means all; None where there is nothing."""
        return [100 * number // self.things if self.things else None for number in self.within]

    @property
    def typical_days(self) -> int | None:
        """The age that half of the things do not exceed; None where half were never seen, or there is nothing."""
        known = sorted(age for age in self.ages if age is not None)
        middle = (len(self.ages) - 1) // 2
        return known[middle] if self.ages and middle < len(known) else None

    @property
    def band(self) -> int:
        """How dense the hatching is: 0 within a year, 1 within two, 2 within five, 3 older or never."""
        days = self.typical_days
        if not self.things:
            return 0
        if days is None:
            return len(YEARS)
        return next((place for place, years in enumerate(YEARS) if days < 365.25 * years), len(YEARS))


def age_words(days: int | None, *, short: bool = False) -> str:
    """ "8 months", "7 years"; short for a drawing: "8 mo", "7 y"."""
    if days is None:
        return "never"
    months = int(days / 30.44)
    if months == 0:
        return "< 1 mo" if short else "less than a month"
    if months < 24:
        return f"{months} mo" if short else f"{months} month{'' if months == 1 else 's'}"
    years = int(days / 365.25)
    return f"{years} y" if short else f"{years} years"


def oldest_first(rooms: Iterable[tuple[str, Seen]]) -> list[str]:
    """Names of rooms with something in them, the one seen longest ago first: never before any day."""

    def age(room: tuple[str, Seen]) -> tuple[float, int]:
        days = room[1].typical_days
        return (-float("inf") if days is None else -days, -room[1].things)

    return [name for name, seen in sorted((room for room in rooms if room[1].things), key=age)]
