"""Invented crowds and stocks of any size for the planner's benches: bodies drawn from our body model, seeded.

The bodies follow the survey model's means and correlations (seven in ten of the men's, three of the women's); nobody in
them was ever measured. Every set was made for a body of the same crowd, piece by piece with a maker's own spread. A
slot's tolerance is chosen so that the wanted share of all pairs fits: from half of them (a cloak) to a fifth (gloves).
"""

from dataclasses import dataclass

import numpy as np

from catalog.fitting.calc.fit import Fit, Reason, Verdict
from catalog.fitting.calc.plan_types import PlanPiece, PlanWearer, Problem, Role
from catalog.fitting.calc.survey import Floats, Gaussian, survey

SHARE_OF_MEN = 0.7
MAKERS_SPREAD = 0.25  # of a body point's own spread
NO = Fit(Verdict.NO, 0.0, 0, Reason.SIZE, ("does not fit",))


@dataclass(frozen=True, slots=True)
class SlotKind:
    """A slot, the body points that decide in it, and the share of all pairs that is to fit."""

    code: str
    points: tuple[str, ...]
    density: float


AMPLE = (
    SlotKind("cloak", ("height",), 0.5),
    SlotKind("coat", ("chest", "sleeve_cb"), 0.35),
    SlotKind("shirt", ("neck", "chest"), 0.35),
    SlotKind("breeches", ("waist_navel", "hip"), 0.3),
    SlotKind("belt", ("waist_navel",), 0.4),
    SlotKind("hat", ("head",), 0.4),
    SlotKind("boots", ("foot_length",), 0.3),
    SlotKind("gloves", ("hand_girth", "hand_length"), 0.2),
)


def crowd(*, people: int, sets: int, seed: int, slots: tuple[SlotKind, ...] = AMPLE, short: float = 0.0) -> Problem:
    """One role for everybody; `short` is the share of each slot's pieces that is missing.

    Only the pairs that fit are in `fits`: an absent pair is a no.
    """
    rng = np.random.default_rng(seed)
    bodies, owners = _bodies(rng, people), _bodies(rng, sets)
    names = survey().shapes["m"].names
    spread = np.concatenate([bodies, owners]).std(axis=0)
    role = Role("crowd", people, tuple(slot.code for slot in slots))
    wearers = tuple(PlanWearer(f"P{number}") for number in range(people))
    pieces: list[PlanPiece] = []
    fits: dict[tuple[str, str], Fit] = {}
    known = [Fit(Verdict.YES, 1.0, score) for score in range(101)]
    for slot in slots:
        at = [names.index(point) for point in slot.points]
        made = owners[:, at] + rng.normal(0.0, MAKERS_SPREAD, (sets, len(at))) * spread[at]
        off = np.abs((bodies[:, None, at] - made[None, :, :]) / spread[at]).max(axis=2)
        limit = float(np.quantile(off, slot.density))
        scores = np.rint(100 * (1 - off / limit)).astype(int)
        present = rng.random(sets) >= short
        own = [PlanPiece(f"{slot.code}{number}", role.code, slot.code, f"S{number}") for number in range(sets)]
        for body, piece in zip(*np.nonzero((off <= limit) & present), strict=True):
            fits[wearers[body].code, own[piece].code] = known[scores[body, piece]]
        pieces += [piece for piece, here in zip(own, present, strict=True) if here]
    return Problem((role,), wearers, tuple(pieces), fits)


def _bodies(rng: np.random.Generator, number: int) -> Floats:
    """Logarithms of the survey's points, one body a row."""
    men = round(SHARE_OF_MEN * number)
    shapes = survey().shapes
    drawn = [_drawn(rng, shapes["m"], men), _drawn(rng, shapes["f"], number - men)]
    return np.concatenate(drawn)[rng.permutation(number)]


def _drawn(rng: np.random.Generator, shape: Gaussian, number: int) -> Floats:
    return rng.multivariate_normal(shape.mean, shape.cov, size=number)
