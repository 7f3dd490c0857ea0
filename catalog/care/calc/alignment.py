"""How one picture of a thing must be shifted, turned and scaled to lie on another of the same view. Pure arrays.

Coarse to fine: phase correlation (Kuglin and Hines 1975) over a few angles and scales finds the neighbourhood; least
squares on the texture (Lucas and Kanade 1981, for a similarity) refines it to parts of a pixel. Texture is the
lightness without its local mean and spread, so lamps, shadows and exposure weigh little.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, degrees, hypot, radians, sin

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Plane = NDArray[np.float32]
Mask = NDArray[np.bool_]

# Photographs of a return are taken from the same spot, by hand: five degrees and a step nearer, with some room.
ANGLES = (-6.0, -4.5, -3.0, -1.5, 0.0, 1.5, 3.0, 4.5, 6.0)
SCALES = (0.94, 0.97, 1.0, 1.03, 1.06)
_COARSE_PX, _FRAME_PX, _BEST = 144, 256, 5
_TUKEY = 4.685  # the usual constant of the biweight: 95 % efficiency on normal noise (Beaton and Tukey 1974)


@dataclass(frozen=True, slots=True)
class Placing:
    """Where a point of the first picture lies in the second: turned and scaled about the middle, then shifted.

    Shifts are in pixels of whatever size the pictures are handed in; positive degrees turn from x (right) to y (down).
    """

    shift_x: float = 0.0
    shift_y: float = 0.0
    turned: float = 0.0
    scale: float = 1.0

    def at(self, times: float) -> "Placing":
        """The same placing for pictures that are `times` as large."""
        return Placing(self.shift_x * times, self.shift_y * times, self.turned, self.scale)

    def point(self, x: float, y: float, first: tuple[int, int], second: tuple[int, int]) -> tuple[float, float]:
        """Where (x, y) of the first picture lies in the second; both shapes as (height, width)."""
        matrix, offset = self.mapping(first, second)
        row, column = matrix @ np.array([y, x]) + offset
        return float(column), float(row)

    def mapping(
        self, first: tuple[int, int], second: tuple[int, int]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Matrix and offset on (row, column), as scipy.ndimage.affine_transform takes them."""
        a, b = self.scale * cos(radians(self.turned)), self.scale * sin(radians(self.turned))
        matrix = np.array([[a, b], [-b, a]])
        middle, there = _middle(first), _middle(second)
        return matrix, there + np.array([self.shift_y, self.shift_x]) - matrix @ middle


def laid_on(picture: Plane, placing: Placing, shape: tuple[int, int], order: int = 1) -> tuple[Plane, Mask]:
    """The second picture as it lies on the first, and where it has anything to say. Planes are (height, width)."""
    matrix, offset = placing.mapping(shape, _shape(picture))
    moved = ndimage.affine_transform(picture, matrix, offset, shape, order=order, mode="nearest")
    rows, columns = np.ogrid[: shape[0], : shape[1]]
    y = matrix[0, 0] * rows + matrix[0, 1] * columns + offset[0]
    x = matrix[1, 0] * rows + matrix[1, 1] * columns + offset[1]
    inside = (y >= 0) & (x >= 0) & (y <= picture.shape[0] - 1) & (x <= picture.shape[1] - 1)
    return moved.astype(np.float32), inside


def texture(light: Plane, *, floor: float = 2.0) -> Plane:
    """Lightness (0 to 255) without its local mean and spread. `floor`: levels below which all is taken for noise."""
    wide = max(light.shape) / 20
    fine = ndimage.gaussian_filter(light, 0.8)
    flat = fine - ndimage.gaussian_filter(fine, wide)
    spread = np.sqrt(ndimage.gaussian_filter(flat * flat, wide) + floor * floor)
    # A single dazzling edge must not outweigh the cloth around it.
    found: Plane = np.clip(flat / spread, -3, 3).astype(np.float32)
    return found


def place(first: Plane, second: Plane) -> Placing:
    """The best placing of `second` on `first`, two planes of lightness (0 to 255). Whether it is any good is another
    question: see `likeness`. Raises ValueError for pictures under 32 pixels.
    """
    if min(*first.shape, *second.shape) < 32:
        raise ValueError("A picture to compare has at least 32 pixels on its shorter side.")
    longest = max(*first.shape, *second.shape)
    levels = [px for px in (_COARSE_PX, 320) if px < longest] + [longest]
    pairs = [
        (px / longest, texture(_smaller(first, px / longest)), texture(_smaller(second, px / longest))) for px in levels
    ]
    size, here, there = pairs[0]
    tried = [_refined(here, there, start, 12) for start in _coarse(here, there)]
    best = max(tried, key=lambda one: _agreement(here, there, one))
    for (before, _, _), (size, here, there) in pairwise(pairs):
        best = _refined(here, there, best.at(size / before), 8)
    return best


def likeness(first: Plane, second: Plane, placing: Placing, *, block: int = 32) -> tuple[int, int]:
    """How well they lie on each other: percent of the textured blocks that agree, and how many blocks were compared.

    Blocks without texture, and those outside the second picture, are not counted: they say nothing.
    """
    here = texture(first)
    there, inside = laid_on(texture(second), placing, _shape(first))
    agree = compared = 0
    for y in range(0, here.shape[0] - block + 1, block):
        for x in range(0, here.shape[1] - block + 1, block):
            cut = np.s_[y : y + block, x : x + block]
            one, other = here[cut], there[cut]
            if not inside[cut].all() or min(one.std(), other.std()) < 0.35:
                continue
            compared += 1
            agree += float(np.corrcoef(one.ravel(), other.ravel())[0, 1]) > 0.5
    return (round(100 * agree / compared) if compared else 0), compared


def _coarse(here: Plane, there: Plane) -> list[Placing]:
    """The few best of all angles and scales, each with the shift at the peak of its phase correlation."""
    frame = np.zeros((_FRAME_PX, _FRAME_PX), np.float32)
    still = np.conj(np.fft.rfft2(_framed(here, frame)))
    found: list[tuple[float, Placing]] = []
    for turned in ANGLES:
        for scale in SCALES:
            start = Placing(turned=turned, scale=scale)
            moved, _ = laid_on(there, start, _shape(here))
            crossed = np.fft.rfft2(_framed(moved, frame)) * still
            peaks = np.fft.irfft2(crossed / np.sqrt(np.abs(crossed) + 1e-6), s=frame.shape)
            row, column = np.unravel_index(int(peaks.argmax()), peaks.shape)
            dy, dx = ((int(at) + _FRAME_PX // 2) % _FRAME_PX - _FRAME_PX // 2 for at in (row, column))
            a, b = scale * cos(radians(turned)), scale * sin(radians(turned))
            found.append((float(peaks[row, column]), Placing(a * dx - b * dy, b * dx + a * dy, turned, scale)))
    return [placing for _, placing in sorted(found, key=lambda one: -one[0])[:_BEST]]


def _refined(here: Plane, there: Plane, start: Placing, steps: int) -> Placing:
    """Least squares with Tukey's weights on the four numbers of a similarity, from `start`."""
    middle = _middle(_shape(here))
    rows, columns = (grid.astype(np.float32) for grid in np.mgrid[: here.shape[0], : here.shape[1]])
    y, x = rows - middle[0], columns - middle[1]
    slope_y, slope_x = np.gradient(there, axis=0), np.gradient(there, axis=1)
    a, b = start.scale * cos(radians(start.turned)), start.scale * sin(radians(start.turned))
    tx, ty = start.shift_x, start.shift_y
    for _ in range(steps):
        now = Placing(tx, ty, degrees(atan2(b, a)), hypot(a, b))
        moved, inside = laid_on(there, now, _shape(here))
        gx, gy = laid_on(slope_x, now, _shape(here))[0], laid_on(slope_y, now, _shape(here))[0]
        rest = (moved - here)[inside]
        if rest.size < here.size // 8:
            return start
        weight = _weights(rest)
        gx, gy, px, py = gx[inside], gy[inside], x[inside], y[inside]
        columns_of = np.stack([gx * px + gy * py, gy * px - gx * py, gx, gy])
        normal = (columns_of * weight) @ columns_of.T
        step = np.linalg.lstsq(
            normal.astype(np.float64), -((columns_of * weight) @ rest).astype(np.float64), rcond=None
        )[0]
        a, b, tx, ty = a + step[0], b + step[1], tx + step[2], ty + step[3]
        if not (0.8 < hypot(a, b) < 1.25):
            return start
        if max(abs(step[2]), abs(step[3]), max(here.shape) * max(abs(step[0]), abs(step[1]))) < 0.01:
            break
    return Placing(float(tx), float(ty), degrees(atan2(b, a)), float(hypot(a, b)))


def _weights(rest: Plane) -> Plane:
    """Tukey's biweight: what differs for another reason than a wrong place (a mark) pulls at nothing."""
    scale = 1.4826 * float(np.median(np.abs(rest))) + 1e-3
    far = np.minimum(1, np.abs(rest) / (_TUKEY * scale))
    weighed: Plane = (1 - far * far) ** 2
    return weighed


def _agreement(here: Plane, there: Plane, placing: Placing) -> float:
    moved, inside = laid_on(there, placing, _shape(here))
    if inside.sum() < here.size // 4:
        return -1.0
    one, other = here[inside], moved[inside]
    return float((one * other).sum() / np.sqrt((one * one).sum() * (other * other).sum() + 1e-6))


def _framed(plane: Plane, frame: Plane) -> Plane:
    """The plane in a frame of zeros, faded at its edges: else the edges themselves correlate."""
    set_in = np.zeros_like(frame)
    fade = np.minimum.outer(
        *(np.minimum(1, np.minimum(np.arange(n) + 1, n - np.arange(n)) / (0.1 * n)) for n in plane.shape)
    )
    set_in[: plane.shape[0], : plane.shape[1]] = plane * fade
    return set_in


def _smaller(plane: Plane, times: float) -> Plane:
    if times >= 1:
        return plane
    smooth = ndimage.gaussian_filter(plane, 0.5 / times)
    small: Plane = ndimage.zoom(smooth, times, order=1, grid_mode=True, mode="nearest").astype(np.float32)
    return small


def _shape(plane: Plane) -> tuple[int, int]:
    return int(plane.shape[0]), int(plane.shape[1])


def _middle(shape: tuple[int, int]) -> NDArray[np.float64]:
    return (np.array(shape, dtype=np.float64) - 1) / 2
