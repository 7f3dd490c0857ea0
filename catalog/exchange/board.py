"""Paper, colours and a few strokes: what all outlines of pieces are drawn with.

The board has 1000 x 1000 units; it is drawn larger than asked and then reduced.
"""

import io
import random
from collections.abc import Sequence

from PIL import Image, ImageDraw

from catalog.exchange.palette import Colour, blend, colours_of, darker, lighter

SIDE_PX = 640
# Drawn so much larger and reduced: Pillow draws edges without smoothing.
_OVER = 2
_BOARD = 1000
Points = Sequence[tuple[float, float]]


class Board:
    """A square of paper with the colours of one piece, and the few strokes that all outlines are made of."""

    def __init__(self, materials: Sequence[str], seed: str) -> None:
        self.rng = random.Random(seed)  # noqa: S311 - a drawing's small irregularities, nothing secret
        found = colours_of(materials)
        self.main, self.second, self.third = (*found, *found, *found)[:3] if len(found) < 3 else found[:3]
        if len(found) == 1:
            self.second, self.third = darker(self.main, 0.25), lighter(self.main, 0.3)
        self.line = darker(blend(self.main, (52, 44, 38), 0.72), 0.15)
        paper = blend((243, 239, 230), self.main, 0.06)
        self.side = SIDE_PX * _OVER
        self.image = Image.new("RGB", (self.side, self.side), paper)
        self.pen = ImageDraw.Draw(self.image)
        self._floor(darker(paper, 0.07))

    def shape(self, points: Points, fill: Colour | None = None, width: int = 7) -> None:
        """A closed outline."""
        spots = [self._at(point) for point in points]
        self.pen.polygon(spots, fill=fill or self.main)
        self.pen.line([*spots, spots[0], spots[1]], fill=self.line, width=self._px(width), joint="curve")

    def mirrored(self, points: Points, fill: Colour | None = None, width: int = 7) -> None:
        """The outline and its twin on the other side of the middle."""
        self.shape(points, fill, width)
        self.shape([(_BOARD - x, y) for x, y in points], fill, width)

    def both(self, half: Points, fill: Colour | None = None, width: int = 7) -> None:
        """An outline that is the same on both sides; the right half is given from top to bottom."""
        self.shape([*half, *[(_BOARD - x, y) for x, y in reversed(half)]], fill, width)

    def stroke(self, points: Points, fill: Colour | None = None, width: int = 5) -> None:
        """A seam, a cord, an edge."""
        self.pen.line([self._at(p) for p in points], fill=fill or self.line, width=self._px(width), joint="curve")

    def disc(self, x: float, y: float, radius: float, fill: Colour | None = None, width: int = 5) -> None:
        """A button, a lens, a stone."""
        self.oval(x - radius, y - radius, x + radius, y + radius, fill, width)

    def oval(
        self, left: float, top: float, right: float, bottom: float, fill: Colour | None = None, width: int = 6
    ) -> None:
        """A rounded body in a box."""
        box = [*self._at((left, top)), *self._at((right, bottom))]
        self.pen.ellipse(box, fill=fill or self.main, outline=self.line, width=self._px(width))

    def box(
        self, left: float, top: float, right: float, bottom: float, fill: Colour | None = None, round_: float = 12
    ) -> None:
        """A straight body with softened corners."""
        corners = [*self._at((left, top)), *self._at((right, bottom))]
        self.pen.rounded_rectangle(
            corners, radius=self._px(round_), fill=fill or self.main, outline=self.line, width=self._px(6)
        )

    def png(self) -> bytes:
        """The finished drawing."""
        small = self.image.reduce(_OVER).quantize(64, method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
        stream = io.BytesIO()
        small.save(stream, "PNG", compress_level=4)
        return stream.getvalue()

    def _floor(self, tone: Colour) -> None:
        lean = self.rng.uniform(-20, 20)
        self.pen.ellipse([*self._at((190 + lean, 888)), *self._at((810 + lean, 948))], fill=tone)

    def _at(self, point: tuple[float, float]) -> tuple[float, float]:
        return point[0] * self.side / _BOARD, point[1] * self.side / _BOARD

    def _px(self, units: float) -> int:
        return max(1, round(units * self.side / _BOARD))
