"""The published survey model of adult bodies, as a Gaussian of natural logarithms.

Source of the numbers in body_model.json: fitted to the public ANSUR II data (US Army, measured 2010-12; Gordon et al.
2014, NATICK/TR-15/007). The natural waist is added from bdims (Heinz, Peterson, Johnson and Kerk 2003, Journal of
Statistics Education 11(2)): the survey measured the waist at the navel, a costume tape goes round the narrowest place.
"""

import json
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Our body points and the survey's names for them. The survey's waist is the navel's.
SURVEY_NAMES: dict[str, str] = {
    "height": "height",
    "weight": "weight",
    "chest": "chest",
    "waist_navel": "waist",
    "hip": "hip",
    "neck": "neck",
    "sleeve_cb": "sleeve",
    "inside_leg": "inseam",
    "head": "head",
    "hand_girth": "hand_g",
    "foot_length": "foot_l",
    "shoulder_width": "shoulder_w",
    "bideltoid": "bideltoid",
    "shoulder_girth": "shoulder_g",
    "across_back": "across_back",
    "arm": "arm",
    "back_waist": "back_waist",
    "outside_leg": "outseam",
    "thigh": "thigh",
    "calf": "calf",
    "ankle": "ankle",
    "upper_arm": "upper_arm",
    "forearm": "forearm",
    "wrist": "wrist",
    "hand_length": "hand_l",
    "foot_breadth": "foot_b",
    "foot_girth": "foot_g",
    "torso_girth": "torso_g",
}
AGE = "age"
WAIST_NATURAL = "waist_natural"

# How strongly the natural waist follows the navel waist once height and weight are known: the correlation of the two
# residuals in bdims (247 men, 260 women), worked out again by tests/reference/test_bdims.py.
WAIST_FOLLOWS_NAVEL = {"m": 0.65, "f": 0.44}


@dataclass(frozen=True, slots=True)
class Gaussian:
    """Mean and covariance of the logarithms (cm, kg, years) of the named variables."""

    names: tuple[str, ...]
    mean: Floats
    cov: Floats

    def at(self, name: str) -> int:
        """Place of a variable; raises ValueError for a name that is not there."""
        return self.names.index(name)

    def given(self, known: dict[str, float], noise: dict[str, float]) -> "tuple[Gaussian, float]":
        """The same variables after seeing `known` values, each true value plus noise (same unit), and the log evidence.

        One Gaussian update: never singular as long as each noise is above zero. With nothing known, itself.
        """
        if not known:
            return self, 0.0
        places = [self.at(name) for name in known]
        seen = np.array(list(known.values()), dtype=np.float64)
        relative = np.array([noise[name] for name in known]) / seen
        spread = self.cov[np.ix_(places, places)] + np.diag(relative**2)
        gap = np.log(seen) - self.mean[places]
        gain = np.linalg.solve(spread, self.cov[places, :]).T
        cov = self.cov - gain @ self.cov[places, :]
        _, logdet = np.linalg.slogdet(2 * np.pi * spread)
        evidence = -0.5 * (float(gap @ np.linalg.solve(spread, gap)) + float(logdet))
        return Gaussian(self.names, self.mean + gain @ gap, (cov + cov.T) / 2), evidence


@dataclass(frozen=True, slots=True)
class Survey:
    """Both reference shapes, the noise of each way to measure (cm, kg), and the range in which each was surveyed."""

    shapes: dict[str, Gaussian]
    noise: dict[str, float]
    sd_inflation: float
    low: dict[str, dict[str, float]]
    high: dict[str, dict[str, float]]


def _with_natural_waist(base: Gaussian, formula: list[float], follows: float) -> Gaussian:
    """Add ln W = a + b ln height + c ln weight + residual, the residual partly shared with the navel waist's."""
    a, b, c, sd = formula
    taken = [base.at("height"), base.at("weight")]
    navel = base.at("waist_navel")
    slope = np.linalg.solve(base.cov[np.ix_(taken, taken)], base.cov[taken, navel])
    navel_sd = float(np.sqrt(base.cov[navel, navel] - slope @ base.cov[taken, navel]))
    weights = np.zeros(len(base.names))
    weights[navel] = follows * sd / navel_sd
    weights[taken] = np.array([b, c]) - weights[navel] * slope
    mean = a + b * base.mean[taken[0]] + c * base.mean[taken[1]]
    cross = base.cov @ weights
    own = float(weights @ cross) + (1 - follows**2) * sd**2
    cov = np.block([[base.cov, cross[:, None]], [cross[None, :], np.array([[own]])]])
    return Gaussian((*base.names, WAIST_NATURAL), np.append(base.mean, mean), cov)


def _shape(names: tuple[str, ...], table: dict[str, list[float]]) -> Gaussian:
    """Unpack one sex: means, SDs and the strict lower triangle of correlations x 1000."""
    size = len(names)
    corr = np.eye(size)
    corr[np.tril_indices(size, -1)] = np.array(table["corr1000"]) / 1000
    corr = corr + corr.T - np.eye(size)
    sd = np.array(table["sd"])
    return Gaussian(names, np.array(table["mean"]), corr * np.outer(sd, sd))


@lru_cache(maxsize=1)
def survey() -> Survey:
    """The model, read once from the package's own data file."""
    text = resources.files("catalog.fitting.calc").joinpath("body_model.json").read_text(encoding="utf-8")
    data = json.loads(text)
    ours = {theirs: point for point, theirs in SURVEY_NAMES.items()} | {AGE: AGE}
    names = tuple(ours[name] for name in data["vars"])
    shapes = {}
    for sex, table in data["sex"].items():
        formula = data["extra"][WAIST_NATURAL][sex]
        shapes[sex] = _with_natural_waist(_shape(names, table), formula, WAIST_FOLLOWS_NAVEL[sex])
    return Survey(
        shapes=shapes,
        noise=data["noise"],
        sd_inflation=float(data["sd_inflation"]),
        low={sex: dict(zip(names, table["p01"], strict=True)) for sex, table in data["sex"].items()},
        high={sex: dict(zip(names, table["p99"], strict=True)) for sex, table in data["sex"].items()},
    )
