"""What is known of a performer's body, and what to expect of the rest.

A taped value counts as known. A card (what casting sent) is a hint with the noise of reported sizes. Everything else
is predicted from the survey model, as a range and as draws that all pieces share, so that a whole outfit can be judged
at once.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import lru_cache
from types import MappingProxyType

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri
from scipy.stats import qmc

from catalog.fitting.calc.draws import Bits, Millimetres, Ordered, everybody, ordered
from catalog.fitting.calc.survey import AGE, SURVEY_NAMES, WAIST_NATURAL, Floats, Gaussian, survey

OVER_HAIR = "head_over_hair"
MODEL_POINTS: tuple[str, ...] = (*SURVEY_NAMES, WAIST_NATURAL)
POINTS: tuple[str, ...] = (*MODEL_POINTS, OVER_HAIR)
POINT_WORDS: dict[str, str] = {point: point.replace("_", " ") for point in POINTS} | {
    WAIST_NATURAL: "waist",
    "waist_navel": "waist at the navel",
    "sleeve_cb": "sleeve from centre back",
    OVER_HAIR: "head over hair",
    "bideltoid": "breadth over the shoulders",
}
ADULT_AGE = 18
DRAW_BITS = 9  # 512 common draws: mean error of P about 0.006, measured against 131,072
DRAWS = 1 << DRAW_BITS

# Body mass index (kg/m2) in which 98 of 100 surveyed people lie.
BMI_RANGE = {"m": (19.5, 38.2), "f": (18.8, 34.8)}

# Which noise entry of the model a taped point has, and how much wider a card is. Height and weight reports were
# measured against tapes in the survey. For other points of a card nothing is published: 2.5 times is house judgement.
LENGTHS = frozenset({"sleeve_cb", "inside_leg", "arm", "back_waist", "outside_leg", "across_back", "torso_girth"})
SMALL = frozenset({"hand_girth", "hand_length", "foot_length", "foot_breadth", "foot_girth", "wrist", "ankle", "head"})
CARD_TAPE_FACTOR = 2.5
AGE_NOISE_YEARS = 0.5


class BodyModelError(ValueError):
    """The model may not or cannot answer; the message says why."""


class UnderAgeError(BodyModelError):
    """Nobody under 18 is predicted: the survey holds adults only."""

    def __init__(self) -> None:
        super().__init__("Nobody under 18 is predicted. Take the sizes by tape.")


class Layer(StrEnum):
    """Where a size comes from, from the least to the most sure."""

    CARD = "card"
    TAPED = "taped"
    FITTED = "fitted"


class Shape(StrEnum):
    """Which surveyed bodies to compare with. Says nothing about the person."""

    M = "m"
    F = "f"
    EITHER = "either"


@dataclass(frozen=True, slots=True)
class Measure:
    """One size: a length in mm, or a weight in g."""

    point: str
    value: int
    layer: Layer


@dataclass(frozen=True, slots=True)
class Person:
    """All sizes known of one performer, each with its layer."""

    measures: tuple[Measure, ...] = ()
    shape: Shape = Shape.EITHER
    age_years: int | None = None
    exclusions: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class HairAllowance:
    """What hair adds to the girth of a head, mm. House judgement, no source.

    Never negative, mostly little, at times much: an exponential law, whose spread equals its mean.
    """

    mean_mm: float = 12.0


HAIR = HairAllowance()


@dataclass(frozen=True, slots=True)
class Estimate:
    """One point: mean and the range for four adults in five (mm, weight g); `known` when it was taped."""

    point: str
    mean: int
    low: int
    high: int
    known: bool


@dataclass(frozen=True, slots=True)
class Prediction:
    """Estimates for every point, sentences of warning, and how much the men's survey was believed (0 to 1)."""

    estimates: Mapping[str, Estimate]
    warnings: tuple[str, ...]
    shape_m: float


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """What a fit is judged on: exact values, and for the other points 512 equally likely values each (mm, weight g).

    Row i of every array is one possible body, so conditions on several points are judged together.
    """

    known: Mapping[str, int]
    draws: Mapping[str, Millimetres]
    exclusions: frozenset[str] = frozenset()
    _ordered: dict[str, Ordered] = field(default_factory=dict, init=False, repr=False)

    @property
    def count(self) -> int:
        """How many possible bodies there are."""
        return len(next(iter(self.draws.values()))) if self.draws else DRAWS

    @property
    def everybody(self) -> Bits:
        """All of them, as bits."""
        return everybody(self.count)

    def ordered(self, point: str) -> Ordered:
        """A drawn point's values in rising order; sorted once, and only when somebody asks."""
        if point not in self._ordered:
            self._ordered[point] = ordered(self.draws[point])
        return self._ordered[point]

    def forget_order(self) -> None:
        """Let go of what was sorted: for a crowd that is kept, it would fill the memory."""
        self._ordered.clear()


def best_measures(measures: Iterable[Measure]) -> dict[str, Measure]:
    """The surest size per point: fitted before taped before card; of two in one layer the later one."""
    order = list(Layer)
    best: dict[str, Measure] = {}
    for measure in measures:
        held = best.get(measure.point)
        if held is None or order.index(measure.layer) >= order.index(held.layer):
            best[measure.point] = measure
    return best


def card_only(person: Person) -> Person:
    """The same person as casting described them, before any tape."""
    return replace(person, measures=tuple(m for m in person.measures if m.layer is Layer.CARD))


def _noise(measure: Measure) -> float:
    """Standard deviation of the measuring error, in cm or kg."""
    table = survey().noise
    if measure.point in ("height", "weight"):
        return table[f"{measure.point}_{'reported' if measure.layer is Layer.CARD else 'measured'}"]
    name = "tape_small" if measure.point in SMALL else "tape_length" if measure.point in LENGTHS else "tape_girth"
    return table[name] * (CARD_TAPE_FACTOR if measure.layer is Layer.CARD else 1.0)


def _per_unit(point: str) -> float:
    """How many of our units (mm, g) make one of the model's (cm, kg)."""
    return 1000.0 if point == "weight" else 10.0


def beliefs(person: Person) -> list[tuple[float, Gaussian]]:
    """What the sizes say of the whole body: a weight and a Gaussian of the logarithms for each reference shape."""
    return _posteriors(person, best_measures(person.measures))


def _posteriors(person: Person, best: Mapping[str, Measure]) -> list[tuple[float, Gaussian]]:
    """Weight and posterior per reference shape; the weights follow from how well each explains the known sizes."""
    model = survey()
    known = {m.point: m.value / _per_unit(m.point) for m in best.values() if m.point in MODEL_POINTS and m.value > 0}
    noise = {point: _noise(best[point]) for point in known}
    if person.age_years is not None:
        known[AGE], noise[AGE] = float(person.age_years), AGE_NOISE_YEARS
    wanted = list(model.shapes) if person.shape is Shape.EITHER else [person.shape.value]
    found = [model.shapes[sex].given(known, noise) for sex in wanted]
    best_log = max(evidence for _, evidence in found)
    raw = [float(np.exp(evidence - best_log)) for _, evidence in found]
    return [(weight / sum(raw), posterior) for weight, (posterior, _) in zip(raw, found, strict=True)]


def _mixture_at(parts: list[tuple[float, float, float]], share: float) -> float:
    """The value below which `share` of a mixture of normals (weight, mean, SD) lies."""
    if len(parts) == 1:
        return float(parts[0][1] + parts[0][2] * ndtri(share))
    low = min(mean - 8 * sd for _, mean, sd in parts)
    high = max(mean + 8 * sd for _, mean, sd in parts)
    return float(brentq(lambda x: sum(w * ndtr((x - mean) / sd) for w, mean, sd in parts) - share, low, high))


@lru_cache(maxsize=1)
def _common_draws() -> tuple[Floats, Floats, Floats]:
    """Standard normal draws per model point, and two columns of uniform ones (shape, hair). The same for everybody."""
    sobol = qmc.Sobol(len(MODEL_POINTS) + 2, scramble=True, rng=np.random.default_rng(2003)).random_base2(DRAW_BITS)
    inside = np.clip(sobol, 1e-9, 1 - 1e-9)
    return ndtri(inside[:, :-2]), inside[:, -2], inside[:, -1]


def _draw(parts: list[tuple[float, Gaussian]], inflation: float) -> dict[str, Millimetres]:
    """Equally likely bodies from the posterior, rounded to whole mm or g."""
    normal, pick, _ = _common_draws()
    chosen = np.zeros((len(normal), len(MODEL_POINTS)))
    start = 0.0
    for weight, posterior in parts:
        rows = (pick >= start) & (pick < start + weight)
        places = [posterior.at(point) for point in MODEL_POINTS]
        # A tape with tiny noise leaves almost no spread: the floor keeps the factorisation stable.
        cov = posterior.cov[np.ix_(places, places)] + np.eye(len(places)) * 1e-12
        lower = np.linalg.cholesky(cov) * inflation
        chosen[rows] = posterior.mean[places] + normal[rows] @ lower.T
        start += weight
    return {
        point: np.rint(np.exp(chosen[:, column]) * _per_unit(point)).astype(np.int32)
        for column, point in enumerate(MODEL_POINTS)
    }


def _over_hair(head: Millimetres | int, hair: HairAllowance) -> Millimetres:
    """Heads with hair, one a draw."""
    extra = -hair.mean_mm * np.log1p(-_common_draws()[2])
    return np.rint(head + extra).astype(np.int32)


def _taped(best: Mapping[str, Measure]) -> dict[str, int]:
    return {m.point: m.value for m in best.values() if m.layer is not Layer.CARD}


def body_of(person: Person, *, sd_inflation: float | None = None, hair: HairAllowance = HAIR) -> Body:
    """What `fit` needs. Taped values stay exact; for someone under 18 nothing beyond them is supposed."""
    best = best_measures(person.measures)
    known = _taped(best)
    if person.age_years is not None and person.age_years < ADULT_AGE:
        return Body(MappingProxyType(known), MappingProxyType({}), person.exclusions)
    inflation = survey().sd_inflation if sd_inflation is None else sd_inflation
    draws = _draw(_posteriors(person, best), inflation)
    draws[OVER_HAIR] = _over_hair(known.get("head", draws["head"]), hair)
    if OVER_HAIR in best and OVER_HAIR not in known:
        draws[OVER_HAIR] = _reported(best[OVER_HAIR])
    unknown = {point: values for point, values in draws.items() if point not in known}
    return Body(MappingProxyType(known), MappingProxyType(unknown), person.exclusions)


def _reported(measure: Measure) -> Millimetres:
    """A size outside the model that a card states: that value with the noise of a card."""
    spread = ndtri(np.clip(_common_draws()[2], 1e-9, 1 - 1e-9)) * _noise(measure) * _per_unit(measure.point)
    values: Millimetres = np.rint(measure.value + spread).astype(np.int32)
    return values


def predict(person: Person, *, sd_inflation: float | None = None, hair: HairAllowance = HAIR) -> Prediction:
    """Expected sizes with ranges for every point.

    Raises UnderAgeError for anybody under 18. Standard deviations are widened by the model's inflation (1.3),
    which was chosen on bdims; four adults in five are meant to lie inside a range.
    """
    if person.age_years is not None and person.age_years < ADULT_AGE:
        raise UnderAgeError
    best = best_measures(person.measures)
    taped = _taped(best)
    parts = _posteriors(person, best)
    inflation = survey().sd_inflation if sd_inflation is None else sd_inflation
    estimates = {point: _estimate(point, parts, inflation) for point in MODEL_POINTS}
    hairy = body_of(person, sd_inflation=inflation, hair=hair).draws.get(OVER_HAIR)
    if hairy is not None:
        low, high = np.quantile(hairy, [0.1, 0.9])
        estimates[OVER_HAIR] = Estimate(OVER_HAIR, round(float(hairy.mean())), round(low), round(high), False)
    estimates |= {point: Estimate(point, value, value, value, True) for point, value in taped.items()}
    shape_m = parts[0][0] if person.shape is Shape.EITHER else float(person.shape is Shape.M)
    return Prediction(MappingProxyType(estimates), _warnings(person, best), shape_m)


def _estimate(point: str, parts: list[tuple[float, Gaussian]], inflation: float) -> Estimate:
    """Centre (the median, exact for one shape) and 10 % to 90 % of one point."""
    curves = []
    for weight, posterior in parts:
        place = posterior.at(point)
        curves.append((weight, float(posterior.mean[place]), float(np.sqrt(posterior.cov[place, place])) * inflation))
    low, middle, high = (np.exp(_mixture_at(curves, share)) * _per_unit(point) for share in (0.1, 0.5, 0.9))
    return Estimate(point, round(middle), round(low), round(high), False)


def _warnings(person: Person, best: Mapping[str, Measure]) -> tuple[str, ...]:
    """Sentences for what lies outside the survey, or is missing. They name points, never values."""
    model = survey()
    shapes = list(model.shapes) if person.shape is Shape.EITHER else [person.shape.value]
    values = {m.point: m.value / _per_unit(m.point) for m in best.values() if m.point in MODEL_POINTS}
    if person.age_years is not None:
        values[AGE] = float(person.age_years)
    found = []
    for point, value in values.items():
        spans = [(model.low[sex][point], model.high[sex][point]) for sex in shapes if point in model.low[sex]]
        if spans and not min(s[0] for s in spans) <= value <= max(s[1] for s in spans):
            words = POINT_WORDS.get(point, point)
            found.append(f"The {words} lies outside what 98 of 100 people in the survey had: trust the ranges less.")
    if "height" in values and "weight" in values and values["height"] > 0:
        bmi = values["weight"] / (values["height"] / 100) ** 2
        if not min(BMI_RANGE[s][0] for s in shapes) <= bmi <= max(BMI_RANGE[s][1] for s in shapes):
            found.append("The weight for this height lies outside the survey: trust the ranges less.")
    if "height" not in values or "weight" not in values:
        found.append("Height or weight is not known: the ranges are those of the whole survey.")
    return tuple(found)
