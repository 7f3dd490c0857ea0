"""By which day another job must be asked to give pieces back early. Pure; every page counts it here.

The pieces must be there when the truck loads, so the notice is counted back from that day. Whoever wants them from the
first day of the own hold (for fittings, or with days for prep) asks as much earlier: both days are told.
"""

from dataclasses import dataclass
from datetime import date

from catalog.core.days import Kind, last_safe_start


@dataclass(frozen=True, slots=True)
class Notice:
    """The notice that was agreed (calendar days, None: none was), the day it counts back from, and why that day.

    `wanted_from` is the first day of the own hold, where that comes earlier.
    """

    days: int | None
    load_on: date
    wanted_from: date | None = None
    when: str = "the truck loads"

    @property
    def ask_by(self) -> date | None:
        """The last safe day to ask; None when no notice was agreed."""
        return None if self.days is None else last_safe_start(self.load_on, self.days, Kind.CALENDAR)

    @property
    def ask_early(self) -> date | None:
        """The day to ask by for the first day of the hold; None when that is no other day."""
        if self.days is None or self.wanted_from is None or self.wanted_from >= self.load_on:
            return None
        return last_safe_start(self.wanted_from, self.days, Kind.CALENDAR)

    @property
    def note(self) -> str:
        """What stands behind the day: how it was counted, and the earlier day with its reason."""
        if self.days is None:
            return "no notice was agreed; it may be refused"
        said = f"{self.days} {'day' if self.days == 1 else 'days'} of notice before {self.when} on {_day(self.load_on)}"
        if self.ask_early is not None and self.wanted_from is not None:
            said += f"; by {_day(self.ask_early)} if they are wanted from {_day(self.wanted_from)}"
        return f"{said}; it may be refused"

    def sentence(self, whom: str, today: date) -> str:
        """Whom to ask by which day, for the ways out of a clash."""
        if self.ask_by is None:
            return f"Ask {whom} for an early release; no days of notice were agreed."
        late = (
            ""
            if self.ask_by >= today
            else f" That day has passed: ask for the days after {_day(self.load_on)}, or a favour."
        )
        return f"Ask {whom} by {_day(self.ask_by)} for an early release: {self.note}.{late}"


def _day(day: date) -> str:
    return f"{day:%-d %b %Y}"
