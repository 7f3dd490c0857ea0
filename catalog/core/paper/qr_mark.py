"""A QR code drawn as one black-and-white mask: a tenth of the time and size of its modules drawn one by one."""

import numpy as np
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from catalog.core.qr import QUIET_ZONE, Modules, qr_modules


def draw_qr(canvas: Canvas, modules: Modules, x: float, y: float, side: float) -> None:
    """Draw the code into the square whose lower left corner is x, y; `side` holds the quiet zone too, in points."""
    grid = len(modules) + 2 * QUIET_ZONE
    module = side / grid
    # In a mask a 0 is painted; each row is filled up to whole bytes with what is not.
    rows = np.packbits(~modules, axis=1)
    inner = module * len(modules)
    left, bottom = x + QUIET_ZONE * module, y + QUIET_ZONE * module
    canvas._code.append(
        f"q 0 g {inner:.3f} 0 0 {inner:.3f} {left:.2f} {bottom:.2f} cm "
        f"BI /W {len(modules)} /H {len(modules)} /IM true /F /AHx ID {rows.tobytes().hex()}> EI Q"
    )


class QrMark(Flowable):  # type: ignore[misc]  # the PDF library has no types
    """The code as a part of a running page, `mm_side` points wide with its quiet zone."""

    def __init__(self, text: str, side: float) -> None:
        super().__init__()
        self.modules, self.side = qr_modules(text), side
        self.width = self.height = side

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.side, self.side

    def draw(self) -> None:
        draw_qr(self.canv, self.modules, 0, 0, self.side)
