"""The light of one photograph put on another: gain, offset and a smooth field, found without what really changed."""

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from catalog.care.calc.alignment import Mask, Plane

_STEP, _ROUNDS = 4, 4


def relit(first: Plane, second: Plane, known: Mask) -> Plane:
    """`first` as it would look in the light of `second`, both (height, width) from 0 to 255 and already aligned.

    The field is a square polynomial on gain and offset, fitted with weights that leave marks out, and then what is left
    of the light smoothed widely. `known` tells where both pictures say something.
    """
    fitted = _fitted(first, second, known)
    rest = np.where(known, second - fitted, 0).astype(np.float32)
    wide = max(first.shape) / 14
    limit = 3 * spread(rest[known]) if known.any() else 0.0
    weight = (known & (np.abs(rest) < limit)).astype(np.float32)
    below = ndimage.gaussian_filter(weight[::_STEP, ::_STEP], wide / _STEP)
    above = ndimage.gaussian_filter((rest * weight)[::_STEP, ::_STEP], wide / _STEP)
    field = above / (below + 0.02)
    full: Plane = (fitted + ndimage.zoom(field, _STEP, order=1)[: first.shape[0], : first.shape[1]]).astype(np.float32)
    return full


def spread(values: NDArray[np.float32]) -> float:
    """The standard deviation that most of the values have: 1.4826 times their median distance from the median."""
    if not values.size:
        return 0.0
    return 1.4826 * float(np.median(np.abs(values - np.median(values))))


def _fitted(first: Plane, second: Plane, known: Mask) -> Plane:
    rows, columns = (np.linspace(-1, 1, n, dtype=np.float32) for n in first.shape)
    y, x = np.meshgrid(rows, columns, indexing="ij")
    cut = np.s_[::_STEP, ::_STEP]
    terms = _terms(first[cut], x[cut], y[cut])[:, known[cut]]
    wanted = second[cut][known[cut]]
    if wanted.size < 10 * len(terms):
        return first.copy()
    weight: Plane = np.ones_like(wanted)
    for _ in range(_ROUNDS):
        normal = (terms * weight) @ terms.T + 1e-3 * np.eye(len(terms), dtype=np.float32)
        found = np.linalg.solve(normal.astype(np.float64), ((terms * weight) @ wanted).astype(np.float64))
        rest = wanted - found.astype(np.float32) @ terms
        weight = (1 / (1 + (rest / (2 * spread(rest) + 1e-3)) ** 2)).astype(np.float32)
    whole: Plane = np.tensordot(found.astype(np.float32), _terms(first, x, y), 1).astype(np.float32)
    return whole


def _terms(light: Plane, x: Plane, y: Plane) -> NDArray[np.float32]:
    """One, x, y, x^2, xy, y^2, each alone (offset) and times the lightness (gain)."""
    smooth = [np.ones_like(x), x, y, x * x, x * y, y * y]
    part = light / np.float32(128)
    return np.stack([*smooth, *(one * part for one in smooth)])
