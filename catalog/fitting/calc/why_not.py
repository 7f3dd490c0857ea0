"""Everything that stands between one body and one piece. Grant all of it and the pair fits; grant less and it does not.

For the wardrobe alone: what is here holds sizes. Other pages say one word (see `public_reason`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from catalog.fitting.calc.bands import Span
from catalog.fitting.calc.body import Body
from catalog.fitting.calc.exclusions import ExclusionRule, check
from catalog.fitting.calc.fit import Candidate


class Kind(StrEnum):
    """What sort of thing is in the way. The first two are a no; the others leave it unknown."""

    EXCLUSION = "exclusion"
    SIZE = "size"
    UNCLEAR = "unclear exclusion"
    NOT_TAPED = "not taped"
    NOT_KNOWN = "no size known"
    NOT_MEASURED = "piece not measured"
    NO_RULE = "no rule"


@dataclass(frozen=True, slots=True)
class Expected:
    """A size that nobody taped: for four adults in five between low and high; `inside` of them the piece would fit."""

    low: int
    middle: int
    high: int
    inside: float


@dataclass(frozen=True, slots=True)
class Obstacle:
    """One thing in the way. `span` is what the piece takes (mm, g); `taped` the body's own size when it is known.

    `said` has the words of an exclusion, else nothing; `code` names the exclusion or the garment point.
    """

    kind: Kind
    point: str = ""
    code: str = ""
    said: str = ""
    span: Span | None = None
    taped: int | None = None
    expected: Expected | None = None

    @property
    def is_no(self) -> bool:
        """Whether it is a plain no, not a question still open."""
        return self.kind in (Kind.EXCLUSION, Kind.SIZE)


def obstacles(body: Body, piece: Candidate, rules: Sequence[ExclusionRule] = ()) -> tuple[Obstacle, ...]:
    """All that is in the way, what is a no first. None: by tape it fits."""
    found = [*_excluded(body, piece, rules)]
    if piece.bands is None:
        found.append(Obstacle(Kind.NO_RULE))
    ranges = piece.ranges
    found += [Obstacle(Kind.NOT_MEASURED, code=point) for point in ranges.not_measured]
    for span in ranges.spans:
        found += _size(body, span)
    return tuple(sorted(found, key=lambda one: not one.is_no))


def _excluded(body: Body, piece: Candidate, rules: Sequence[ExclusionRule]) -> list[Obstacle]:
    found = []
    for code in sorted(body.exclusions):
        ruled = check(frozenset({code}), piece.makeup, rules)
        found += [Obstacle(Kind.EXCLUSION, code=code, said=said) for said in ruled.blocked]
        found += [Obstacle(Kind.UNCLEAR, code=code, said=said) for said in ruled.unclear]
    return found


def _size(body: Body, span: Span) -> list[Obstacle]:
    taped, drawn = body.known.get(span.body_point), body.draws.get(span.body_point)
    if taped is not None:
        return [] if span.holds(taped) else [Obstacle(Kind.SIZE, span.body_point, span=span, taped=taped)]
    if drawn is None:
        return [Obstacle(Kind.NOT_KNOWN, span.body_point, span=span)]
    low, middle, high = (round(float(value)) for value in np.quantile(drawn, (0.1, 0.5, 0.9)))
    fits = np.ones(len(drawn), dtype=np.bool_)
    if span.low is not None:
        fits &= drawn >= span.low
    if span.high is not None:
        fits &= drawn <= span.high
    expected = Expected(low, middle, high, float(fits.mean()))
    return [Obstacle(Kind.NOT_TAPED, span.body_point, span=span, expected=expected)]
