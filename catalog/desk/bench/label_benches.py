"""A thousand labels as one PDF against a PNG a label: time and size. Reading them back is a test's work.

The plain program draws each label as a picture at 300 dpi with the QR library's own picture and two lines of type, and
saves it as a one-bit PNG, the smallest it can be. Both draw the same modules; that is asserted first.
"""

from collections.abc import Callable, Mapping
from io import BytesIO

import numpy as np
import qrcode
from PIL import Image, ImageDraw, ImageFont
from qrcode.constants import ERROR_CORRECT_M

from catalog.core.codes import make_code
from catalog.core.qr import QUIET_ZONE, qr_many
from catalog.desk.bench.measuring import BenchError, Measurement, interleaved, measured
from catalog.storage.label_pdf import sheets_pdf
from catalog.storage.labels import SHEETS, Print

MANY = 1000
ROUNDS = 3
GOAL = 10.0
_SHEET = SHEETS["a4-21"]
_DPI = 300


def labels_1000() -> Measurement:
    """Milliseconds for all of them."""
    prints = _prints()
    timed = interleaved(lambda: len(_split(prints)), lambda: len(_pictures(prints)), rounds=ROUNDS)
    return measured("labels_1000", timed, baseline="a one-bit PNG a label at 300 dpi (qrcode, Pillow)", goal=GOAL)


def labels_1000_size() -> Measurement:
    """Kilobytes of all of them."""
    prints = _prints()
    ours, plain = len(sheets_pdf(prints, _SHEET)), sum(map(len, _pictures(prints)))
    ratio = plain / ours
    return Measurement(
        "labels_1000_size",
        round(ours / 1000, 1),
        "kB",
        "a one-bit PNG a label at 300 dpi (qrcode, Pillow)",
        round(plain / 1000, 1),
        round(ratio, 2),
        f"at least {GOAL:g}",
        ratio >= GOAL,
    )


def _prints() -> list[Print]:
    """The labels; raises BenchError when the two programs would not draw the same codes."""
    prints = [Print(make_code("P", n), f"AB-{n:04d}", "Oilskin coat, long") for n in range(1, MANY + 1)]
    for one, modules in zip(prints, qr_many(one.address for one in prints), strict=True):
        if not np.array_equal(np.pad(modules, QUIET_ZONE), np.array(_plain_code(one).get_matrix(), dtype=bool)):
            raise BenchError(f"The two programs draw {one.code} differently.")
    return prints


def _split(prints: list[Print]) -> list[Print]:
    """Ours; the answer is how many labels were printed."""
    if not sheets_pdf(prints, _SHEET).startswith(b"%PDF"):
        raise BenchError("That is no PDF.")
    return prints


def _plain_code(one: Print) -> qrcode.QRCode:
    code = qrcode.QRCode(error_correction=ERROR_CORRECT_M, border=QUIET_ZONE, box_size=10)
    code.add_data(one.address)
    code.make(fit=True)
    return code


def _pictures(prints: list[Print]) -> list[bytes]:
    """The plain program: a PNG a label."""
    large, little = ImageFont.load_default(54), ImageFont.load_default(30)
    wide, high = (round(side / 25.4 * _DPI) for side in (_SHEET.label_width, _SHEET.label_height))
    found = []
    for one in prints:
        picture = Image.new("1", (wide, high), 1)
        picture.paste(_plain_code(one).make_image().get_image().convert("1"), (25, 60))
        draw = ImageDraw.Draw(picture)
        draw.text((370, 120), one.number, fill=0, font=large)
        draw.text((370, 200), one.name, fill=0, font=little)
        draw.text((370, 250), one.code, fill=0, font=little)
        stream = BytesIO()
        picture.save(stream, "PNG", optimize=True)
        found.append(stream.getvalue())
    return found


LABEL_BENCHES: Mapping[str, Callable[[], Measurement]] = {
    "labels_1000": labels_1000,
    "labels_1000_size": labels_1000_size,
}
