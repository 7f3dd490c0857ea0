"""A picture with numbered pins on it, as a condition report has them: the number stands in a list beside it."""

from collections.abc import Sequence
from io import BytesIO

from reportlab.lib import colors
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable

from catalog.core.paper.fonts import BOLD, register, width_of

# Number, and where it lies from the left and from the top, in thousandths of the picture.
Pin = tuple[int, int, int]
_RADIUS = 2.1 * mm


class PinnedPicture(Flowable):  # type: ignore[misc]  # the PDF library has no types
    """The picture within a box, its proportions kept, and the pins on it: white on black, ringed in white."""

    def __init__(self, data: bytes, width_mm: float, height_mm: float, pins: Sequence[Pin]) -> None:
        super().__init__()
        register()
        self.reader, self.pins = ImageReader(BytesIO(data)), pins
        wide, high = self.reader.getSize()
        scale = min(width_mm / wide, height_mm / high) * mm
        self.width, self.height = wide * scale, high * scale

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        canvas.drawImage(self.reader, 0, 0, self.width, self.height)
        canvas.setStrokeColor(colors.grey)
        canvas.setLineWidth(0.3)
        canvas.rect(0, 0, self.width, self.height)
        for number, x_permille, y_permille in self.pins:
            x, y = self.width * x_permille / 1000, self.height * (1 - y_permille / 1000)
            canvas.setFillColor(colors.black)
            canvas.setStrokeColor(colors.white)
            canvas.setLineWidth(0.8)
            canvas.circle(x, y, _RADIUS, stroke=1, fill=1)
            canvas.setFillColor(colors.white)
            canvas.setFont(BOLD, 7)
            canvas.drawString(x - width_of(str(number), BOLD, 7) / 2, y - 2.5, str(number))
        canvas.setFillColor(colors.black)
        canvas.setStrokeColor(colors.black)
