"""Two stored pictures of one view, read, compared and drawn: pictures come in and go out here, `calc` sees arrays."""

import base64
import io
from dataclasses import dataclass

import numpy as np
from PIL import Image

from catalog.care.calc.differences import Compared, Photo, compare
from catalog.core.errors import Refused
from catalog.core.models import File

# Compared at this many pixels: half of what is shown at full size, and a second or two on one core.
COMPARED_PX = 640
# Colours inside the picture that is drawn, not of the page: a strong blue and a strong orange-red are told apart by
# readers with any of the common colour deficiencies (Okabe and Ito 2008, from memory).
_CHANGED = np.array([213, 60, 0], np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class DrawnPair:
    """What a page shows: the answer, the size in pixels, and three pictures of that size as data addresses."""

    compared: Compared
    width: int
    height: int
    out: str
    back: str
    difference: str
    back_size: tuple[int, int]

    def on_back(self, x: int, y: int) -> tuple[float, float]:
        """Where a point of the first picture (in thousandths) lies on the second as it was taken, in per cent."""
        wide, high = self.back_size
        to_x, to_y = self.compared.placing.point(
            x * self.width / 1000, y * self.height / 1000, (self.height, self.width), (high, wide)
        )
        return _percent(to_x, wide), _percent(to_y, high)


def drawn_pair(out: File, back: File) -> DrawnPair:
    """Read, compare and draw two stored pictures. Raises Refused when one cannot be read or is too small."""
    first, second = _read(out, "from before the loan"), _read(back, "from since then")
    try:
        compared = compare(first, second)
    except ValueError as small:
        raise Refused(str(small)) from small
    height, width = first.shape[:2]
    difference = _data(_drawn(first, compared)) if compared.aligned else ""
    return DrawnPair(compared, width, height, _data(first), _data(compared.second), difference, second.shape[1::-1])


def _read(file: File, when: str) -> Photo:
    try:
        with file.large.open("rb") as stored, Image.open(stored, formats=["JPEG"]) as picture:
            small = picture.convert("RGB")
            small.thumbnail((COMPARED_PX, COMPARED_PX), Image.Resampling.LANCZOS)
            return np.asarray(small)
    except (OSError, ValueError, SyntaxError) as broken:
        raise Refused(f"The picture {when} cannot be read. Add it again.") from broken


def _percent(at: float, size: int) -> float:
    return min(100.0, max(0.0, round(100 * at / size, 1)))


def _drawn(first: Photo, compared: Compared) -> Photo:
    """The first picture pale and grey, and over it how strongly each point differs."""
    grey = 150 + first.mean(axis=-1, keepdims=True) * 0.4
    much = np.clip((compared.difference - 4) / 6, 0, 1)[..., None]
    return np.clip(grey * (1 - much) + _CHANGED * much, 0, 255).astype(np.uint8)


def _data(photo: Photo) -> str:
    stream = io.BytesIO()
    Image.fromarray(photo).save(stream, "JPEG", quality=85)
    return "data:image/jpeg;base64," + base64.b64encode(stream.getvalue()).decode()
