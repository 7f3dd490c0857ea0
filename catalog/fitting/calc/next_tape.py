"""Which tape to take next: the one after which fewest pieces are still only possible. Worked out, never a fixed list.

Each tape not yet taken is tried at equally likely values, and after each the pieces are judged as they would be then.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from catalog.fitting.calc.body import Body, Layer, Measure, Person, body_of
from catalog.fitting.calc.chance import LIKELY_FROM, POSSIBLE_FROM
from catalog.fitting.calc.joint import Rack, shares_of
from catalog.fitting.calc.survey import Floats

VALUES = 7  # equally likely values at which a tape is tried; more change no order that matters


@dataclass(frozen=True, slots=True)
class TapeGain:
    """What one tape may bring.

    settles: for each piece how likely it is open now and no longer then (0 for a piece that is not open now).
    open_after: how many pieces may be expected to be open then. doubt_after: what is left of the doubt, see `doubt`.
    """

    point: str
    settles: tuple[float, ...]
    open_after: float
    doubt_after: float

    @property
    def settled(self) -> float:
        """How many of the open pieces it may be expected to settle."""
        return sum(self.settles)


@dataclass(frozen=True, slots=True)
class NextTape:
    """The tapes not yet taken, the most telling first, and which pieces are open now. No gain: nothing left to tape."""

    is_open: tuple[bool, ...]
    gains: tuple[TapeGain, ...]

    @property
    def open_now(self) -> int:
        """How many pieces are open."""
        return sum(self.is_open)


def doubt(share: Floats) -> float:
    """How far the pieces are from a plain yes or no, all together: p(1 - p) each. One not measured has no say."""
    return float(np.nansum(share * (1 - share)))


def open_pieces(share: Floats) -> NDArray[np.bool_]:
    """Pieces that are possible: neither likely nor unlikely."""
    return (share >= POSSIBLE_FROM) & (share < LIKELY_FROM)


def next_tape(person: Person, rack: Rack, points: Sequence[str]) -> NextTape:
    """Try each of the points that is not taped yet. Of equal ones the earlier in `points` comes first.

    Somebody under 18 is never predicted: there a piece is open while a size that it asks is missing.
    """
    body = body_of(person)
    missing = [point for point in dict.fromkeys(points) if point not in body.known]
    if not body.draws:
        return _by_tape_alone(body, rack, missing)
    now = shares_of(body, rack).share
    is_open = open_pieces(now)
    gains = [_tried(person, rack, point, _values(body, point), is_open) for point in missing if point in body.draws]
    telling = [gain for gain in gains if gain.settled > 0 or gain.doubt_after < doubt(now)]
    telling.sort(key=lambda gain: (round(gain.open_after, 6), round(gain.doubt_after, 6)))
    return NextTape(tuple(is_open.tolist()), tuple(telling))


def _values(body: Body, point: str) -> list[int]:
    """Equally likely values of a point, from low to high."""
    places = (np.arange(VALUES) + 0.5) / VALUES
    return [round(float(value)) for value in np.quantile(body.draws[point], places)]


def _tried(person: Person, rack: Rack, point: str, values: Sequence[int], is_open: NDArray[np.bool_]) -> TapeGain:
    """The pieces judged with the tape at each value, and the mean over them."""
    settles, open_after, doubt_after = np.zeros(len(rack.told)), 0.0, 0.0
    for value in values:
        then = body_of(replace(person, measures=(*person.measures, Measure(point, value, Layer.FITTED))))
        share = shares_of(then, rack).share
        still = open_pieces(share)
        settles += is_open & ~still
        open_after += float(still.sum())
        doubt_after += doubt(share)
    times = len(values)
    return TapeGain(point, tuple((settles / times).tolist()), open_after / times, doubt_after / times)


def _by_tape_alone(body: Body, rack: Rack, missing: Sequence[str]) -> NextTape:
    """Without any prediction: a tape settles the pieces for which it is the last one missing."""
    asked = {point: rack.asks[row] for row, point in enumerate(rack.points) if point not in body.known}
    lacking = np.sum([*asked.values(), np.zeros(len(rack.told))], axis=0)
    is_open = np.isnan(shares_of(body, rack).share) & rack.told & (lacking > 0)
    gains = []
    for point in missing:
        wanted = asked.get(point, np.zeros(len(rack.told), dtype=np.bool_)) & is_open
        if wanted.any():
            settles = wanted & (lacking == 1)
            left = float(is_open.sum() - settles.sum())
            gains.append(TapeGain(point, tuple(settles.astype(float).tolist()), left, float(-wanted.sum())))
    gains.sort(key=lambda gain: (gain.open_after, gain.doubt_after))
    return NextTape(tuple(is_open.tolist()), tuple(gains))
