"""Does it fit: one piece or a whole set on one body, as yes, no or unknown with a likelihood and the reasons.

The reasons are for the wardrobe: they say by how much the piece misses, never a size of the body. Granting every reason
of a "no" makes the pair fit. Production gets `public_reason` alone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from catalog.fitting.calc.bands import Band, Garment, Scale, Span, body_eu, wearable
from catalog.fitting.calc.body import POINT_WORDS, Body
from catalog.fitting.calc.exclusions import ExclusionRule, Makeup, check

LIKELY_FROM = 0.8
POSSIBLE_FROM = 0.2


class Verdict(StrEnum):
    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


class Reason(StrEnum):
    """Why not. Production never reads exclusion or unknown: see `public_reason`."""

    SIZE = "size"
    DATES = "dates"
    PIECE_MISSING = "piece missing"
    EXCLUSION = "exclusion"
    UNKNOWN = "unknown"
    NOT_NEEDED = "not needed"


class Chance(StrEnum):
    LIKELY = "likely"
    POSSIBLE = "possible"
    UNLIKELY = "unlikely"


def public_reason(reason: Reason) -> str:
    """What production may read: an exclusion or an unknown size is just "size"."""
    return (Reason.SIZE if reason in (Reason.EXCLUSION, Reason.UNKNOWN) else reason).value


def chance_of(probability: float) -> Chance:
    """Likely from 0.8, possible from 0.2."""
    if probability >= LIKELY_FROM:
        return Chance.LIKELY
    return Chance.POSSIBLE if probability >= POSSIBLE_FROM else Chance.UNLIKELY


@dataclass(frozen=True, slots=True)
class Candidate:
    """A piece as fitting sees it. `bands` () fits anybody; None means that the house has no rule yet: unknown."""

    code: str
    bands: tuple[Band, ...] | None
    garment: Garment
    makeup: Makeup


@dataclass(frozen=True, slots=True)
class Fit:
    """Verdict for one body and one piece.

    probability: share of the possible bodies that fit; None when the piece was not measured enough to say.
    score: 0 to 100, how well inside its ranges; 0 for a no. limiting: the body point that decides.
    miss: how far a no misses, all taped points together (mm, g), so that the nearest piece can be named.
    """

    verdict: Verdict
    probability: float | None
    score: int = 0
    reason: Reason | None = None
    reasons: tuple[str, ...] = ()
    limiting: str | None = None
    miss: int = 0

    @property
    def chance(self) -> Chance:
        return Chance.UNLIKELY if self.probability is None else chance_of(self.probability)


@dataclass(frozen=True, slots=True)
class SetFit:
    """Several pieces on one body at once. The probability is joint: the share of bodies that every piece fits."""

    verdict: Verdict
    probability: float | None
    limiting_piece: str | None
    limiting: str | None
    reasons: tuple[str, ...]
    fits: Mapping[str, Fit]

    @property
    def chance(self) -> Chance:
        return Chance.UNLIKELY if self.probability is None else chance_of(self.probability)


@dataclass(frozen=True, slots=True, eq=False)
class _Trial:
    """The workings of one fit. `inside` marks the possible bodies that fit; a single row when nothing is open."""

    broken: tuple[tuple[str, str], ...]  # (body point, sentence)
    miss: int
    guessed: tuple[tuple[str, float], ...]  # (body point, share of bodies inside)
    absent: tuple[str, ...]  # body points with neither a tape nor a prediction
    inside: NDArray[np.bool_]
    centred: float


def _edge(span: Span, value: int) -> int:
    """The end of the span nearest to a value outside it."""
    return (span.high if span.high is not None and value > span.high else span.low) or 0


def _miss(span: Span, value: int) -> str:
    """By how much a piece misses a known body; exact, so that granting it makes the span hold."""
    words = POINT_WORDS.get(span.body_point, span.body_point.replace("_", " "))
    small = span.high is not None and value > span.high
    edge = _edge(span, value)
    if span.scale is Scale.EU_SHOE:
        sizes = abs(body_eu(value) - body_eu(edge))
        by = f"{sizes} EU {'size' if sizes == 1 else 'sizes'}"
    else:
        by = f"{abs(value - edge) / 10:.1f} cm"
    if span.body_point == "weight":
        by = f"{abs(value - edge) / 1000:.1f} kg"
    return f"{words}: piece too {'small' if small else 'big'} by {by}"


def _centred(span: Span, value: float) -> float:
    """1 in the middle of a span, falling to 0 at its ends; an open span has no middle and gives 1."""
    if span.low is None or span.high is None or span.high <= span.low:
        return 1.0
    half = (span.high - span.low) / 2
    return max(0.0, 1.0 - abs(value - (span.low + half)) / half)


def _try(body: Body, spans: Sequence[Span]) -> _Trial:
    broken, guessed, absent, centred = [], [], [], []
    inside = np.ones(1, dtype=np.bool_)
    miss = 0
    for span in spans:
        value = body.known.get(span.body_point)
        drawn = body.draws.get(span.body_point)
        if value is not None:
            if not span.holds(value):
                broken.append((span.body_point, _miss(span, value)))
                miss += abs(value - _edge(span, value))
            centred.append(_centred(span, value))
        elif drawn is not None:
            low = span.low if span.low is not None else np.iinfo(np.int64).min
            high = span.high if span.high is not None else np.iinfo(np.int64).max
            here = (drawn >= low) & (drawn <= high)
            guessed.append((span.body_point, float(here.mean())))
            inside = inside & here
            centred.append(_centred(span, float(np.median(drawn))))
        else:
            absent.append(span.body_point)
    mean = sum(centred) / len(centred) if centred else 1.0
    return _Trial(tuple(broken), miss, tuple(guessed), tuple(absent), inside, mean)


def _judge(body: Body, piece: Candidate, rules: Sequence[ExclusionRule]) -> tuple[Fit, NDArray[np.bool_]]:
    """The fit, and which of the possible bodies it holds for."""
    ruled = check(body.exclusions, piece.makeup, rules)
    ranges = wearable(piece.bands or (), piece.garment)
    trial = _try(body, ranges.spans)
    gaps = [f"{point.replace('_', ' ')} of the piece not measured" for point in ranges.not_measured]
    gaps += [f"{POINT_WORDS.get(point, point)} not known" for point in trial.absent]
    if piece.bands is None:
        gaps.append("the house has no rule for when this fits")
    open_points = [f"{POINT_WORDS.get(point, point)} not taped" for point, _ in trial.guessed]
    unknown = (*ruled.unclear, *dict.fromkeys(gaps), *dict.fromkeys(open_points))
    limiting = _limiting(trial)
    if ruled.blocked or trial.broken:
        said = (*ruled.blocked, *(sentence for _, sentence in trial.broken), *unknown)
        reason = Reason.EXCLUSION if ruled.blocked else Reason.SIZE
        return Fit(Verdict.NO, 0.0, 0, reason, said, limiting, trial.miss), np.zeros(1, dtype=np.bool_)
    if ruled.unclear or gaps:
        return Fit(Verdict.UNKNOWN, None, 0, Reason.UNKNOWN, unknown, limiting), np.zeros(1, dtype=np.bool_)
    probability = float(trial.inside.mean())
    score = round(100 * probability * trial.centred)
    if trial.guessed:
        return Fit(Verdict.UNKNOWN, probability, score, Reason.UNKNOWN, unknown, limiting), trial.inside
    return Fit(Verdict.YES, 1.0, score, None, (), limiting), trial.inside


def _limiting(trial: _Trial) -> str | None:
    """The point that fails; else the one that fewest possible bodies pass (its share is a bound on the whole)."""
    if trial.broken:
        return trial.broken[0][0]
    return min(trial.guessed, key=lambda pair: pair[1])[0] if trial.guessed else None


def fit(body: Body, piece: Candidate, rules: Sequence[ExclusionRule] = ()) -> Fit:
    """Judge one piece on one body. Yes needs every point taped and measured; a prediction alone is never a yes."""
    return _judge(body, piece, rules)[0]


def fit_set(body: Body, pieces: Sequence[Candidate], rules: Sequence[ExclusionRule] = ()) -> SetFit:
    """Judge several pieces worn together, on the same possible bodies: never a product of the pieces' likelihoods."""
    judged = [(piece, *_judge(body, piece, rules)) for piece in pieces]
    fits = MappingProxyType({piece.code: found for piece, found, _ in judged})
    inside = np.ones(1, dtype=np.bool_)
    for _, _, here in judged:
        inside = inside & here
    unmeasured = any(found.probability is None for found in fits.values())
    refused = any(found.verdict is Verdict.NO for found in fits.values())
    worst = min(judged, key=lambda row: -1.0 if row[1].probability is None else row[1].probability, default=None)
    if refused:
        verdict, worst = Verdict.NO, next(row for row in judged if row[1].verdict is Verdict.NO)
    elif all(found.verdict is Verdict.YES for found in fits.values()) and fits:
        verdict = Verdict.YES
    else:
        verdict = Verdict.UNKNOWN
    probability = 0.0 if refused else None if unmeasured or not fits else float(inside.mean())
    decides = worst is not None and worst[1].verdict is not Verdict.YES
    return SetFit(
        verdict=verdict,
        probability=probability,
        limiting_piece=worst[0].code if worst is not None and decides else None,
        limiting=worst[1].limiting if worst is not None and decides else None,
        reasons=tuple(f"{code}: {said}" for code, found in fits.items() for said in found.reasons),
        fits=fits,
    )
