"""QR codes of labels as drawings.

ISO/IEC 18004: error correction level M (about 15 %), a quiet zone of four modules on each side. The address stands in
capitals, so that it stays in the alphanumeric set and the code stays small.
"""

from dataclasses import dataclass

import qrcode
from django.conf import settings
from qrcode.constants import ERROR_CORRECT_M

QUIET_ZONE = 4
ALPHANUMERIC = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")


@dataclass(frozen=True, slots=True)
class QrDrawing:
    """A code as one SVG path on a grid of `side` modules, quiet zone included."""

    text: str
    version: int
    side: int
    path: str


def label_address(code: str) -> str:
    """What the label says: HTTPS://HOST/Q/CODE, in capitals. The address page answers in both cases."""
    return f"HTTPS://{settings.LABEL_HOST.upper()}/Q/{code.upper()}"


def qr_drawing(text: str) -> QrDrawing:
    """The text as a code: each run of dark modules in a row is one piece of the path."""
    code = qrcode.QRCode(error_correction=ERROR_CORRECT_M, border=QUIET_ZONE)
    code.add_data(text)
    code.make(fit=True)
    rows = code.get_matrix()
    parts = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            start = x
            while x < len(row) and row[x]:
                x += 1
            if x > start:
                parts.append(f"M{start} {y}h{x - start}v1h-{x - start}z")
            x += 1
    return QrDrawing(text=text, version=code.version, side=len(rows), path="".join(parts))
