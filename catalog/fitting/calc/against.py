"""A body against a piece, point by point: what the piece takes, and where the body lies or is expected to lie."""

from dataclasses import dataclass
from enum import StrEnum

from catalog.fitting.calc.body import Layer, Person, UnderAgeError, best_measures, predict
from catalog.fitting.calc.fit import Candidate


class Stand(StrEnum):
    """How a point stands. Open: expected, the ranges meet. Unknown: the body or the piece was not measured there."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    OPEN = "open"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class PointRow:
    """One point of the body (mm, weight g).

    takes_low, takes_high: what the piece takes; None: no end on that side. good: on whom it sits well there.
    middle, low, high: the body, a single value when it was taped, else expected with the range for four adults in five;
    None: nothing is known or may be supposed.
    """

    point: str
    takes_low: int | None
    takes_high: int | None
    middle: int | None
    low: int | None
    high: int | None
    taped: bool
    stand: Stand
    good: tuple[int, int] | None = None

    @property
    def sits(self) -> str:
        """Of a taped point inside the range: "well", "tight" or "loose"; nothing where nobody has said."""
        if self.stand is not Stand.INSIDE or self.good is None or self.middle is None:
            return ""
        if self.good[0] <= self.middle <= self.good[1]:
            return "well"
        return "tight" if self.middle > self.good[1] else "loose"


def against(person: Person, piece: Candidate) -> tuple[PointRow, ...]:
    """A row for every point that the piece's bands ask about, in their order."""
    try:
        expected = predict(person).estimates
    except UnderAgeError:
        expected = {}
    taped = {m.point: m.value for m in best_measures(person.measures).values() if m.layer is not Layer.CARD}
    goods = {span.body_point: span.good for span in piece.ranges.spans if span.good is not None}
    rows = []
    for point, (low, high) in piece.by_point.items():
        good = goods.get(point)
        if point in taped:
            value = taped[point]
            rows.append(PointRow(point, low, high, value, value, value, True, _taped(value, low, high), good))
        elif point in expected:
            guess = expected[point]
            stand = _expected(guess.low, guess.high, low, high)
            rows.append(PointRow(point, low, high, guess.mean, guess.low, guess.high, False, stand, good))
        else:
            rows.append(PointRow(point, low, high, None, None, None, False, Stand.UNKNOWN, good))
    return tuple(rows)


def _taped(value: int, low: int | None, high: int | None) -> Stand:
    inside = (low is None or value >= low) and (high is None or value <= high)
    return Stand.INSIDE if inside else Stand.OUTSIDE


def _expected(body_low: int, body_high: int, low: int | None, high: int | None) -> Stand:
    """An expectation alone is never inside; it is outside when hardly anybody could be in the range."""
    apart = (low is not None and body_high < low) or (high is not None and body_low > high)
    return Stand.OUTSIDE if apart else Stand.OPEN
