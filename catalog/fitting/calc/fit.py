"""Does it fit: one piece or a whole set on one body, as yes, no or unknown with a likelihood and the reasons.

The reasons are for the wardrobe: they say by how much the piece misses, never a size of the body. Granting every reason
of a "no" makes the pair fit. Production gets `public_reason` alone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from catalog.fitting.calc.bands import Band, Garment, Scale, Span, Wearable, body_eu, wearable
from catalog.fitting.calc.body import POINT_WORDS, Body
from catalog.fitting.calc.chance import Chance, chance_of
from catalog.fitting.calc.draws import Bits, nobody, share
from catalog.fitting.calc.exclusions import ExclusionRule, Makeup, check


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


def public_reason(reason: Reason) -> str:
    """What production may read: an exclusion or an unknown size is just "size"."""
    return (Reason.SIZE if reason in (Reason.EXCLUSION, Reason.UNKNOWN) else reason).value


@dataclass(frozen=True, slots=True)
class Candidate:
    """A piece as fitting sees it. `bands` () fits anybody; None means that the house has no rule yet: unknown."""

    code: str
    bands: tuple[Band, ...] | None
    garment: Garment
    makeup: Makeup
    ranges: Wearable = field(init=False, repr=False, compare=False)
    by_point: Mapping[str, tuple[int | None, int | None]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """The bodies it fits, worked out once and asked of everybody."""
        ranges = wearable(self.bands or (), self.garment)
        object.__setattr__(self, "ranges", ranges)
        object.__setattr__(self, "by_point", ranges.by_point())


@dataclass(frozen=True, slots=True)
class Fit:
    """Verdict for one body and one piece.

    probability: share of the possible bodies that fit; None when the piece was not measured enough to say.
    at_most: what the likelihood never exceeds, whatever the missing measures are: the share of the limiting point.
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
    at_most: float = 1.0

    @property
    def chance(self) -> Chance:
        return chance_of(self.probability)


@dataclass(frozen=True, slots=True)
class SetFit:
    """Several pieces on one body at once. The probability is joint: the share of bodies that every piece fits.

    at_most: what it never exceeds, whatever the missing measures are.
    """

    verdict: Verdict
    probability: float | None
    limiting_piece: str | None
    limiting: str | None
    reasons: tuple[str, ...]
    fits: Mapping[str, Fit]
    at_most: float = 1.0

    @property
    def chance(self) -> Chance:
        return chance_of(self.probability)


@dataclass(frozen=True, slots=True, eq=False)
class _Trial:
    """The workings of one fit. `inside` marks the possible bodies that fit in every point that is known or drawn."""

    broken: tuple[tuple[str, str], ...]  # (body point, sentence)
    miss: int
    guessed: tuple[tuple[str, float], ...]  # (body point, share of bodies inside)
    absent: tuple[str, ...]  # body points with neither a tape nor a prediction
    inside: Bits
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


def core_of(span: Span) -> tuple[float, float] | None:
    """Where a span counts as filled best: its good range, else its middle; None for an open span, which has neither."""
    if span.low is None or span.high is None or span.high <= span.low:
        return None
    if span.good is None:
        middle = span.low + (span.high - span.low) / 2
        return middle, middle
    return float(max(span.good[0], span.low)), float(min(span.good[1], span.high))


def _centred(span: Span, value: float) -> float:
    """1 where the span is filled best, falling to 0 at its ends; an open span gives 1."""
    core = core_of(span)
    if core is None or span.low is None or span.high is None or core[0] <= value <= core[1]:
        return 1.0
    end, edge = (span.low, core[0]) if value < core[0] else (span.high, core[1])
    return max(0.0, 1.0 - abs(value - edge) / abs(edge - end)) if edge != end else 0.0


def _try(body: Body, piece: Candidate) -> _Trial:
    broken, absent, centred = [], [], []
    miss = 0
    for span in piece.ranges.spans:
        value = body.known.get(span.body_point)
        if value is not None:
            if not span.holds(value):
                broken.append((span.body_point, _miss(span, value)))
                miss += abs(value - _edge(span, value))
            centred.append(_centred(span, value))
        elif span.body_point in body.draws:
            centred.append(_centred(span, body.ordered(span.body_point).median))
        else:
            absent.append(span.body_point)
    inside, guessed = _drawn(body, piece) if not broken else _untold(body, piece)
    mean = sum(centred) / len(centred) if centred else 1.0
    return _Trial(tuple(broken), miss, guessed, tuple(absent), inside, mean)


def score_of(probability: float, centred: float) -> int:
    """0 to 100; rounded twice, so that the order in which the middle was summed up means nothing."""
    return round(round(100 * probability * centred, 9))


def _drawn(body: Body, piece: Candidate) -> tuple[Bits, tuple[tuple[str, float], ...]]:
    """The possible bodies inside every range of a point that is not taped, and the share inside each one alone."""
    inside, guessed = body.everybody, []
    for point, (low, high) in piece.by_point.items():
        if point not in body.known and point in body.draws:
            here, number = body.ordered(point).inside(low, high)
            guessed.append((point, number / body.count))
            inside = inside & here
    return inside, tuple(guessed)


def _untold(body: Body, piece: Candidate) -> tuple[Bits, tuple[tuple[str, float], ...]]:
    """After a no nobody counts: no body fits, and the points that are not taped are only named."""
    guessed = tuple((point, 0.0) for point in piece.by_point if point not in body.known and point in body.draws)
    return nobody(body.count), guessed


def judge(body: Body, piece: Candidate, rules: Sequence[ExclusionRule]) -> tuple[Fit, Bits]:
    """The fit, and which of the possible bodies it can hold for: none after a no."""
    ruled = check(body.exclusions, piece.makeup, rules)
    trial = _try(body, piece)
    gaps = [f"{point.replace('_', ' ')} of the piece not measured" for point in piece.ranges.not_measured]
    gaps += [f"{POINT_WORDS.get(point, point)} not known" for point in trial.absent]
    if piece.bands is None:
        gaps.append("the house has no rule for when this fits")
    open_points = [f"{POINT_WORDS.get(point, point)} not taped" for point, _ in trial.guessed]
    unknown = (*ruled.unclear, *dict.fromkeys(gaps), *dict.fromkeys(open_points))
    limiting = _limiting(trial)
    if ruled.blocked or trial.broken:
        said = (*ruled.blocked, *(sentence for _, sentence in trial.broken), *unknown)
        reason = Reason.EXCLUSION if ruled.blocked else Reason.SIZE
        return Fit(Verdict.NO, 0.0, 0, reason, said, limiting, trial.miss, 0.0), nobody(body.count)
    at_most = min((part for _, part in trial.guessed), default=1.0)
    if ruled.unclear or gaps:
        return Fit(Verdict.UNKNOWN, None, 0, Reason.UNKNOWN, unknown, limiting, at_most=at_most), trial.inside
    probability = share(trial.inside, body.count)
    score = score_of(probability, trial.centred)
    if trial.guessed:
        found = Fit(Verdict.UNKNOWN, probability, score, Reason.UNKNOWN, unknown, limiting, at_most=at_most)
        return found, trial.inside
    return Fit(Verdict.YES, 1.0, score, None, (), limiting), trial.inside


def _limiting(trial: _Trial) -> str | None:
    """The point that fails; else the one that fewest possible bodies pass (its share is a bound on the whole)."""
    if trial.broken:
        return trial.broken[0][0]
    return min(trial.guessed, key=lambda pair: (pair[1], pair[0]))[0] if trial.guessed else None


def fit(body: Body, piece: Candidate, rules: Sequence[ExclusionRule] = ()) -> Fit:
    """Judge one piece on one body. Yes needs every point taped and measured; a prediction alone is never a yes."""
    return judge(body, piece, rules)[0]


def fit_set(body: Body, pieces: Sequence[Candidate], rules: Sequence[ExclusionRule] = ()) -> SetFit:
    """Judge several pieces worn together, on the same possible bodies: never a product of the pieces' likelihoods."""
    judged = [(piece, *judge(body, piece, rules)) for piece in pieces]
    fits = MappingProxyType({piece.code: found for piece, found, _ in judged})
    inside = body.everybody
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
    together = share(inside, body.count)
    probability = 0.0 if refused else None if unmeasured or not fits else together
    decides = worst is not None and worst[1].verdict is not Verdict.YES
    return SetFit(
        verdict=verdict,
        probability=probability,
        limiting_piece=worst[0].code if worst is not None and decides else None,
        limiting=worst[1].limiting if worst is not None and decides else None,
        reasons=tuple(f"{code}: {said}" for code, found in fits.items() for said in found.reasons),
        fits=fits,
        at_most=0.0 if refused else together,
    )
