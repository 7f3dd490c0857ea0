"""How late a loan was, and lists that stay short: two pages have no room for two hundred numbers."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

NAMED = 6


def some(words: Sequence[str], most: int = NAMED) -> str:
    """The first few, and how many more there are."""
    more = f" and {len(words) - most} more" if len(words) > most else ""
    return ", ".join(words[:most]) + more


def days_late(planned: date | None, happened: date | None) -> int | None:
    """So many days after the planned one, negative when early; None while one of the two is not known."""
    return None if planned is None or happened is None else (happened - planned).days


def late_words(days: int | None) -> str:
    """ "2 days late", "on the day", "1 day early", or that it is not known."""
    if days is None:
        return "not known"
    if days == 0:
        return "on the day"
    count = f"{abs(days)} {'day' if abs(days) == 1 else 'days'}"
    return f"{count} {'late' if days > 0 else 'early'}"


@dataclass(frozen=True, slots=True)
class Delays:
    """Planned and real days; `late` pieces came after the due day, `still_out` have not come."""

    to_leave: date | None
    left: date | None
    due: date
    last_back: date | None
    late: int
    still_out: int
    closed: date | None
    today: date

    @property
    def leaving(self) -> int | None:
        """How late it left."""
        return days_late(self.to_leave, self.left)

    @property
    def returning(self) -> int | None:
        """How late the last piece came; while some are out, how late it is already, once it is."""
        if self.still_out:
            return days_late(self.due, self.today) if self.today > self.due else None
        return days_late(self.due, self.last_back)
