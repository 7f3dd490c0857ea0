"""How long a piece with a limit was worn: now, today and ever, when it must come off, and from when it may go on again.

Pure: stored moments in, minutes out. The same five minutes told by two phones are five minutes.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta, tzinfo
from itertools import pairwise

_NONE = timedelta(0)


@dataclass(frozen=True, slots=True)
class Spell:
    """Once on and off again; `stop` None: still on. `anew`: somebody said it may be worn again, so the count began."""

    start: datetime
    stop: datetime | None = None
    anew: bool = False


@dataclass(frozen=True, slots=True)
class WearClock:
    """What the clock of one piece says at a moment.

    `stretch` is what counts against the limit: the minutes since the piece last rested as long as its limit asks, or,
    where the limit names no rest, all of the day since somebody said that it may be worn again.
    """

    now: datetime
    since: datetime | None
    stretch: timedelta
    today: timedelta
    ever: timedelta
    limit: timedelta | None = None
    rest: timedelta | None = None
    last_stop: datetime | None = None

    @property
    def runs(self) -> bool:
        """Whether somebody has it on."""
        return self.since is not None

    @property
    def reached(self) -> bool:
        """Whether the limit is reached: it comes off, or stays off."""
        return self.limit is not None and self.stretch >= self.limit

    @property
    def stop_at(self) -> datetime | None:
        """When it must come off, while it is on; in the past once the limit is reached."""
        return self.now + self.limit - self.stretch if self.limit is not None and self.runs else None

    @property
    def next_after(self) -> datetime | None:
        """From when it may be worn again, where the limit names the rest; None while it is on or may be worn."""
        if self.runs or not self.reached or self.rest is None or self.last_stop is None:
            return None
        return self.last_stop + self.rest

    @property
    def needs_word(self) -> bool:
        """The limit is reached and names no rest: somebody must say that it may be worn again."""
        return self.reached and not self.runs and self.rest is None

    @property
    def before(self) -> timedelta:
        """What counted before it was put on this time, for a page that goes on counting by itself."""
        return self.stretch - (self.now - self.since) if self.since is not None else self.stretch


def wear_clock(
    spells: Iterable[Spell], now: datetime, zone: tzinfo, *, limit_minutes: int | None, rest_minutes: int | None
) -> WearClock:
    """The clock at `now`; what was put on later is not counted. Days are those of `zone`."""
    now = now.astimezone(UTC)
    known = [one for one in spells if one.start <= now]
    runs = _joined([(one.start.astimezone(UTC), _end(one, now)) for one in known])
    limit = timedelta(minutes=limit_minutes) if limit_minutes is not None else None
    rest = timedelta(minutes=rest_minutes) if rest_minutes is not None else None
    on = any(one.stop is None or one.stop > now for one in known)
    begins = max([*(one.start for one in known if one.anew), *_after_rest(runs, now, zone, rest)], default=None)
    midnight = datetime.combine(now.astimezone(zone).date(), time.min, zone).astimezone(UTC)
    return WearClock(
        now=now,
        since=runs[-1][0] if on else None,
        stretch=_worn(runs, begins),
        today=_worn(runs, midnight),
        ever=_worn(runs, None),
        limit=limit,
        rest=rest,
        last_stop=runs[-1][1] if runs and not on else None,
    )


def _end(one: Spell, now: datetime) -> datetime:
    return now if one.stop is None else min(one.stop.astimezone(UTC), now)


def _joined(runs: list[tuple[datetime, datetime]]) -> list[tuple[datetime, datetime]]:
    """The same minutes told twice are one."""
    joined: list[tuple[datetime, datetime]] = []
    for start, stop in sorted(runs):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], stop))
        else:
            joined.append((start, stop))
    return joined


def _after_rest(
    runs: list[tuple[datetime, datetime]], now: datetime, zone: tzinfo, rest: timedelta | None
) -> Iterator[datetime]:
    """When the count began anew by itself: after a rest that was long enough, or on another day where none is named."""
    for (_, stop), (start, _) in pairwise([*runs, (now, now)]):
        if start - stop >= rest if rest is not None else _day(start, zone) != _day(stop, zone):
            yield start


def _day(moment: datetime, zone: tzinfo) -> object:
    return moment.astimezone(zone).date()


def _worn(runs: list[tuple[datetime, datetime]], begins: datetime | None) -> timedelta:
    counted = [(start if begins is None else max(start, begins), stop) for start, stop in runs]
    return sum((stop - start for start, stop in counted if stop > start), _NONE)
