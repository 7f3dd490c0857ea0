"""Reading a label from one frame of a camera. The frame lives in memory for as long as the reading takes, no longer."""

import io
import warnings

import zxingcpp
from PIL import Image, UnidentifiedImageError

from catalog.core.errors import Refused

# A frame as our page sends it is about 30 kB and under a megapixel.
MOST_BYTES = 400_000
MOST_PIXELS = 2_500_000
_LABELS = zxingcpp.barcode_formats_from_str("QRCode")


def read_frame(frame: bytes) -> str:
    """The text of the QR code nearest the middle of a JPEG frame, or nothing. Raises Refused for what is no frame."""
    if len(frame) > MOST_BYTES:
        raise Refused("The picture is too large to be read: let the page take it.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture = Image.open(io.BytesIO(frame), formats=["JPEG"])
            if picture.width * picture.height > MOST_PIXELS:
                raise Refused("The picture is too large to be read: let the page take it.")
            grey = picture.convert("L")
    except (UnidentifiedImageError, OSError, Image.DecompressionBombError, Image.DecompressionBombWarning) as fault:
        raise Refused("The picture could not be read. Hold the camera still and try again.") from fault
    found = zxingcpp.read_barcodes(grey, formats=_LABELS)
    readable = [code for code in found if code.valid and code.text]
    middle = (grey.width / 2, grey.height / 2)
    nearest = min(readable, key=lambda code: _distance(code.position, middle), default=None)
    return "" if nearest is None else str(nearest.text)


def _distance(position: "zxingcpp.Position", middle: tuple[float, float]) -> float:
    corners = (position.top_left, position.top_right, position.bottom_left, position.bottom_right)
    x, y = sum(corner.x for corner in corners) / 4, sum(corner.y for corner in corners) / 4
    return float((x - middle[0]) ** 2 + (y - middle[1]) ** 2)
