"""What two photographs of the same view show differently: aligned, put in one light, and compared. Pure arrays.

It is an aid: a fold that fell otherwise shows as well as a stain, and what one picture does not show is unknown, which
never counts as unchanged.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from catalog.care.calc.alignment import Mask, Placing, Plane, laid_on, likeness, place
from catalog.care.calc.relighting import relit, spread

Photo = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Limits:
    """When two pictures count as aligned, and what counts as a difference; pixels are those of the compared size."""

    blocks_percent: int = 55
    least_blocks: int = 8
    seen_percent: int = 45
    turned: float = 8.0
    strong: float = 10.5
    weak: float = 4.0
    levels: float = 9.0
    area_px: int = 16
    dark: int = 3
    burnt: int = 250


@dataclass(frozen=True, slots=True)
class Region:
    """Something that looks different: its box in thousandths of the first picture, its size, and how far it stands out
    of the noise.
    """

    left: int
    top: int
    right: int
    bottom: int
    area_px: int
    strength: float

    @property
    def where(self) -> str:
        """ "upper left of the picture": in thirds, as the picture is looked at and not as the piece is worn."""
        across = ("left", "", "right")[min(2, (self.left + self.right) * 3 // 2000)]
        down = ("upper", "", "lower")[min(2, (self.top + self.bottom) * 3 // 2000)]
        words = " ".join(word for word in (down or ("middle" if across else ""), across) if word)
        return f"{words or 'middle'} of the picture" if across or not down else f"{down} middle of the picture"


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """The answer. `aligned_percent`: textured blocks that agree. `unknown_percent`: of the first picture, what cannot
    be compared because the second does not show it, or because either is burnt out or black there.

    When `aligned` is False, nothing is said about differences: `regions` is empty and `second` is as it came.
    """

    aligned: bool
    aligned_percent: int
    unknown_percent: int
    placing: Placing
    regions: tuple[Region, ...]
    second: Photo
    difference: Plane

    @property
    def sentence(self) -> str:
        """What the comparison says, in one sentence."""
        if not self.aligned:
            return f"The pictures could not be aligned: {self.aligned_percent} % of them agree. Compare them by eye."
        found = len(self.regions)
        said = {0: "No difference stands out", 1: "1 place looks different"}.get(
            found, f"{found} places look different"
        )
        unknown = f"; {self.unknown_percent} % of the picture could not be compared" if self.unknown_percent else ""
        return f"{said}{unknown}."


def compare(first: Photo, second: Photo, limits: Limits = Limits()) -> Compared:
    """Compare two pictures (height, width, 3) of the same view, at most some 700 pixels long for two seconds' work.

    Raises ValueError for pictures under 32 pixels.
    """
    here, there = _light(first), _light(second)
    placing = place(here, there)
    percent, blocks = likeness(here, there, placing)
    shape = here.shape[0], here.shape[1]
    laid = [laid_on(second[..., n].astype(np.float32), placing, shape) for n in range(3)]
    moved = np.stack([plane for plane, _ in laid], axis=-1)
    told = _told(first, moved, laid[0][1], limits)
    seen = 100 * float(laid[0][1].mean())
    aligned = (
        percent >= limits.blocks_percent
        and blocks >= limits.least_blocks
        and seen >= limits.seen_percent
        and abs(placing.turned) <= limits.turned
    )
    if not aligned:
        return Compared(False, percent, 100, placing, (), second, np.zeros(shape, np.float32))
    stands_out = _standing_out(first, moved, told, limits)
    regions = _regions(stands_out, limits)
    unknown = round(100 * (1 - float(told.known.mean())))
    return Compared(True, percent, unknown, placing, regions, np.clip(moved, 0, 255).astype(np.uint8), stands_out)


@dataclass(frozen=True, slots=True, eq=False)
class _Told:
    """Where the pictures tell anything: `shown` by both and not black; and where one of them is burnt out."""

    shown: Mask
    first_burnt: Mask
    second_burnt: Mask

    @property
    def known(self) -> Mask:
        known: Mask = self.shown & ~self.first_burnt & ~self.second_burnt
        return known


def _told(first: Photo, moved: Plane, inside: Mask, limits: Limits) -> _Told:
    dark = (first.max(axis=-1) <= limits.dark) | (moved.max(axis=-1) <= limits.dark)
    burnt = [ndimage.binary_dilation(one.max(axis=-1) >= limits.burnt, iterations=2) for one in (first, moved)]
    return _Told(ndimage.binary_erosion(inside, iterations=3) & ~dark, *burnt)


def _standing_out(first: Photo, moved: Plane, told: _Told, limits: Limits) -> Plane:
    """How many times its own noise each point differs, in lightness or in colour; 0 where nothing is known."""
    strongest = np.zeros(first.shape[:2], np.float32)
    here, there = first.astype(np.float32), np.asarray(moved, np.float32)
    lit = np.stack([relit(here[..., n], there[..., n], told.known) for n in range(3)], axis=-1)
    for n, (old, new) in enumerate(zip(_opponents(lit), _opponents(there), strict=True)):
        rest = _lighter_or_darker(new - old, told) if n == 0 else np.where(told.known, new - old, 0)
        for soft in (1.2, 3.0):
            levels = limits.levels / (1.5 if n else 1.0)
            strongest = np.maximum(strongest, _one_scale(rest.astype(np.float32), old, told.known, soft, levels))
    return strongest


def _lighter_or_darker(rest: Plane, told: _Told) -> Plane:
    """What is burnt out was at least so light: darker than that is a difference, lighter is unknown; and reversed."""
    rest = np.where(told.first_burnt, np.minimum(rest, 0), rest)
    rest = np.where(told.second_burnt, np.maximum(rest, 0), rest)
    return np.where(told.shown, rest, 0).astype(np.float32)


def _one_scale(rest: Plane, old: Plane, known: Mask, soft: float, levels: float) -> Plane:
    """The difference of two planes smoothed by `soft` pixels, in units of its own local noise.

    Steep places (an edge, a button's rim) get room for a misplacing of a part of a pixel.
    """
    rest = ndimage.gaussian_filter(rest, soft)
    wide = max(rest.shape) / 18
    usual = max(spread(rest[known]), 0.15) if known.any() else 1.0
    capped = np.minimum(rest * rest, (2.5 * usual) ** 2)[::2, ::2]
    local = np.sqrt(ndimage.gaussian_filter(capped, wide / 2)) + 0.3 * usual
    local = np.repeat(np.repeat(local, 2, axis=0), 2, axis=1)[: rest.shape[0], : rest.shape[1]]
    steep = ndimage.gaussian_gradient_magnitude(old, 1.0)
    steep = ndimage.gaussian_filter(ndimage.maximum_filter(steep, 3), soft)
    noise = np.sqrt(local**2 + (0.12 * steep / soft) ** 2)
    # A difference of less than so many levels is nothing that anybody could see.
    stands_out: Plane = (np.abs(rest) / np.maximum(noise, levels / 8)).astype(np.float32)
    return stands_out


def _regions(stands_out: Plane, limits: Limits) -> tuple[Region, ...]:
    """Connected places above the weak limit that somewhere pass the strong one, the strongest first."""
    labels, count = ndimage.label(ndimage.binary_closing(stands_out > limits.weak, iterations=4))
    if not count:
        return ()
    height, width = stands_out.shape
    peaks = ndimage.maximum(stands_out, labels, range(1, count + 1))
    areas = ndimage.sum_labels(np.ones_like(stands_out), labels, range(1, count + 1))
    found = []
    for box, peak, area in zip(ndimage.find_objects(labels), peaks, areas, strict=True):
        if peak < limits.strong or area < limits.area_px:
            continue
        rows, columns = box
        found.append(
            Region(
                1000 * columns.start // width,
                1000 * rows.start // height,
                -(-1000 * columns.stop // width),
                -(-1000 * rows.stop // height),
                int(area),
                round(float(peak), 1),
            )
        )
    return tuple(sorted(found, key=lambda one: -one.strength))


def _opponents(picture: Plane) -> tuple[Plane, Plane, Plane]:
    """Lightness, red against green, blue against yellow: a stain of the same lightness shows in the others."""
    red, green, blue = (picture[..., n] for n in range(3))
    return _light(picture), (red - green).astype(np.float32), (blue - (red + green) / 2).astype(np.float32)


def _light(picture: NDArray[np.uint8] | Plane) -> Plane:
    """Lightness by the weights of ITU-R BT.601, as JPEG itself uses."""
    weighed: Plane = (picture.astype(np.float32) @ np.array([0.299, 0.587, 0.114], np.float32)).astype(np.float32)
    return weighed
