"""People and pieces for measuring the fit: drawn from the survey's own model, the same in every run. Nobody real."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalog.fitting.calc.bands import Span, Wearable
from catalog.fitting.calc.body import Layer, Measure, Person, Shape
from catalog.fitting.calc.joint import Rack, rack_of
from catalog.fitting.calc.survey import survey

PERFORMERS, PIECES = 1000, 2000
POINTS = ("chest", "waist_natural", "hip", "neck", "sleeve_cb", "inside_leg")
# Some have been taped elsewhere on the body: everybody's covariance is then their own.
TAPED = ("thigh", "arm", "calf", "shoulder_girth")


@dataclass(frozen=True, slots=True)
class Crowd:
    """Performers known by a card and some tapes, and pieces made for other people, with six ranges each."""

    people: tuple[Person, ...]
    rack: Rack


def crowd(people: int = PERFORMERS, pieces: int = PIECES) -> Crowd:
    """Half and half from the men's and the women's survey."""
    rng = np.random.default_rng(1887)
    return Crowd(tuple(_people(people, rng)), _rack(pieces, rng))


def _bodies(shape: Shape, count: int, rng: np.random.Generator) -> list[dict[str, int]]:
    """Whole bodies in mm and g."""
    model = survey().shapes[shape.value]
    per = [1000 if name == "weight" else 10 for name in model.names]
    values = np.rint(np.exp(rng.multivariate_normal(model.mean, model.cov, count)) * per).astype(int)
    return [dict(zip(model.names, row, strict=True)) for row in values.tolist()]


def _people(count: int, rng: np.random.Generator) -> list[Person]:
    found = []
    for shape in (Shape.M, Shape.F):
        for number, body in enumerate(_bodies(shape, count // 2, rng)):
            card = [Measure(point, body[point], Layer.CARD) for point in ("height", "weight")]
            tapes = [Measure(point, body[point], Layer.TAPED) for point in TAPED[: number % (len(TAPED) + 1)]]
            found.append(Person((*card, *tapes), shape))
    return found


def _rack(count: int, rng: np.random.Generator) -> Rack:
    owners = [body for shape in (Shape.M, Shape.F) for body in _bodies(shape, count // 2, rng)]
    widths: NDArray[np.int64] = rng.integers(40, 140, (len(owners), len(POINTS)))
    return rack_of([_made_for(owner, row) for owner, row in zip(owners, widths.tolist(), strict=True)])


def _made_for(owner: dict[str, int], widths: Sequence[int]) -> Wearable:
    """Ranges that hold the owner somewhere near the middle."""
    spans = (
        Span(point, point, owner[point] - width // 2, owner[point] + width // 2)
        for point, width in zip(POINTS, widths, strict=True)
    )
    return Wearable(tuple(spans), ())
