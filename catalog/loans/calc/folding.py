"""History lines as a page tells them: many reads of one person on one day become one line. Pure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of the history, or several that were folded: `times` of them, the newest at `happened`."""

    happened: datetime
    recorded: datetime
    by: str
    text: str
    reason: str = ""
    verb: str = ""
    times: int = 1

    @property
    def day(self) -> date:
        """The day it happened, in the time of `happened`."""
        return self.happened.date()


def folded(entries: Iterable[Entry], plain: Mapping[str, str], most: int) -> list[Entry]:
    """The `most` newest entries, newest first; verbs that stand in `plain` are folded a person and day.

    "read the size sheets 14 times, last 15:02". Hand in entries newest first, in local time.
    """
    kept: list[Entry] = []
    found: dict[tuple[str, str, date], int] = {}
    for entry in entries:
        key = (entry.verb, entry.by, entry.day)
        if entry.verb in plain and key in found:
            place = found[key]
            kept[place] = _once_more(kept[place])
        elif len(kept) < most:
            if entry.verb in plain:
                found[key] = len(kept)
            kept.append(entry)
        elif entry.day < kept[-1].day:
            break
    return [_worded(entry, plain[entry.verb]) if entry.verb in plain else entry for entry in kept]


def _once_more(entry: Entry) -> Entry:
    return replace(entry, times=entry.times + 1)


def _worded(entry: Entry, words: str) -> Entry:
    text = words if entry.times == 1 else f"{words} {entry.times} times, last {entry.happened:%H:%M}"
    return replace(entry, text=text)
