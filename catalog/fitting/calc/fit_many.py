"""Many pieces on one body: the same answers as `fit` gives one by one, counted on arrays where nothing must be said."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalog.fitting.calc.body import POINT_WORDS, Body
from catalog.fitting.calc.exclusions import ExclusionRule, check
from catalog.fitting.calc.fit import Candidate, Fit, Reason, Verdict, core_of, fit, score_of
from catalog.fitting.calc.joint import Rack, rack_of, shares_of
from catalog.fitting.calc.survey import Floats

TINY = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class _Spans:
    """The n-th span of every piece: its point's place in the rack, where it is filled best, how far its ends lie off.

    `closed`: it has both ends.
    """

    point: NDArray[np.int64]
    core_low: Floats
    core_high: Floats
    below: Floats
    above: Floats
    closed: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Rail:
    """Pieces made ready to be judged on one body after another."""

    pieces: tuple[Candidate, ...]
    rack: Rack
    spans: tuple[_Spans, ...]
    number: NDArray[np.int64]


def rail_of(pieces: Sequence[Candidate]) -> Rail:
    """Arrays for these pieces, made once for all bodies."""
    rack = rack_of([None if piece.bands is None else piece.ranges for piece in pieces])
    number = np.array([len(piece.ranges.spans) for piece in pieces], dtype=np.int64)
    lanes = tuple(_lane(pieces, rack, place) for place in range(int(number.max(initial=0))))
    return Rail(tuple(pieces), rack, lanes, number)


def _lane(pieces: Sequence[Candidate], rack: Rack, place: int) -> _Spans:
    count = len(pieces)
    point, closed = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.bool_)
    core_low, core_high, below, above = np.zeros(count), np.zeros(count), np.ones(count), np.ones(count)
    for column, piece in enumerate(pieces):
        if place < len(piece.ranges.spans) and piece.bands is not None:
            span = piece.ranges.spans[place]
            point[column] = rack.points.index(span.body_point)
            core = core_of(span)
            if core is not None and span.low is not None and span.high is not None:
                core_low[column], core_high[column] = core
                # Where the good range reaches an end nothing lies between them: whatever is beyond counts nothing.
                below[column], above[column] = max(core[0] - span.low, TINY), max(span.high - core[1], TINY)
                closed[column] = True
    return _Spans(point, core_low, core_high, below, above, closed)


def fit_many(body: Body, rail: Rail, rules: Sequence[ExclusionRule] = ()) -> list[Fit]:
    """Every piece of the rail on one body. Whatever needs its own sentences is judged by `fit` itself."""
    found = shares_of(body, rail.rack)
    centred = _centred(body, rail)
    said: dict[tuple[str, ...], tuple[str, ...]] = {}
    plain = ~np.isnan(found.share) & ~_refused(body, rail.rack) & _allowed(body, rail, rules)
    rows = zip(
        rail.pieces, plain.tolist(), found.share.tolist(), found.bound.tolist(), found.limiting.tolist(),
        centred.tolist(), strict=True,
    )  # fmt: skip
    judged = [
        _plain(body, piece, rail.rack, (share, bound, limiting, middle), said) if is_plain else fit(body, piece, rules)
        for piece, is_plain, share, bound, limiting, middle in rows
    ]
    body.forget_order()
    return judged


def _allowed(body: Body, rail: Rail, rules: Sequence[ExclusionRule]) -> NDArray[np.bool_]:
    """Pieces that no exclusion speaks against or leaves unclear."""
    if not body.exclusions:
        return np.ones(len(rail.pieces), dtype=np.bool_)
    ruled = [check(body.exclusions, piece.makeup, rules) for piece in rail.pieces]
    return np.array([not found.blocked and not found.unclear for found in ruled], dtype=np.bool_)


def _refused(body: Body, rack: Rack) -> NDArray[np.bool_]:
    """Pieces that a tape forbids: their sentences say by how much."""
    refused = np.zeros(len(rack.told), dtype=np.bool_)
    for row, point in enumerate(rack.points):
        known = body.known.get(point)
        if known is not None:
            refused |= (known < rack.low[row]) | (known > rack.high[row])
    return refused


def _plain(
    body: Body,
    piece: Candidate,
    rack: Rack,
    counted: tuple[float, float, int, float],
    said: dict[tuple[str, ...], tuple[str, ...]],
) -> Fit:
    """A piece that fits by tape, or is open only because something is not taped."""
    share, bound, limiting, centred = counted
    key = tuple(piece.by_point)
    if key not in said:
        said[key] = tuple(f"{POINT_WORDS.get(point, point)} not taped" for point in key if point not in body.known)
    score = score_of(share, centred)
    if not said[key]:
        return Fit(Verdict.YES, 1.0, score)
    return Fit(Verdict.UNKNOWN, share, score, Reason.UNKNOWN, said[key], rack.points[limiting], 0, bound)


def _centred(body: Body, rail: Rail) -> Floats:
    """How near the middle of its ranges the body lies, for each piece the mean over its spans; see `fit`."""
    values = np.zeros(max(1, len(rail.rack.points)))
    for row, point in enumerate(rail.rack.points):
        if point in body.known:
            values[row] = body.known[point]
        elif point in body.draws:
            values[row] = body.ordered(point).median
    total = np.zeros(len(rail.pieces))
    for place, spans in enumerate(rail.spans):
        here = values[spans.point]
        off = np.maximum((spans.core_low - here) / spans.below, (here - spans.core_high) / spans.above)
        inside = np.clip(1.0 - off, 0.0, 1.0)
        total += np.where(spans.closed, inside, place < rail.number)
    return np.where(rail.number > 0, total / np.maximum(rail.number, 1), 1.0)
