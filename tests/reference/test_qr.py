"""Our QR drawings read back by an independent reader (zxing-cpp), and measured against ISO/IEC 18004.

Capacities of level M in alphanumeric mode (version 1: 20, 2: 38, 3: 61, 4: 90 characters), 17 + 4 v modules a side
and a quiet zone of 4 modules are the standard's, as its published summaries give them; the first two capacities were
also measured with a second encoder.
"""

import random
import re
from io import BytesIO
from typing import Any

import pytest
import zxingcpp
from django.test import override_settings
from PIL import Image, ImageDraw
from qrcode import QRCode
from qrcode.constants import ERROR_CORRECT_M

from catalog.core.codes import make_code
from catalog.core.qr import ALPHANUMERIC, QUIET_ZONE, label_address, qr_drawing, qr_many
from catalog.storage import actions
from tests.cast import Cast
from tests.storage.world import make_store

CAPACITY_M = {1: 20, 2: 38, 3: 61, 4: 90}
RUN = re.compile(r"M(\d+) (\d+)h(\d+)v1h-\3z")


def raster(path: str, side: int, module: int = 6) -> Image.Image:
    """The drawing's path as pixels: what a printer makes of it."""
    picture = Image.new("L", (side * module, side * module), 255)
    draw = ImageDraw.Draw(picture)
    runs = RUN.findall(path)
    assert "".join(f"M{x} {y}h{n}v1h-{n}z" for x, y, n in runs) == path
    for x, y, n in ((int(a), int(b), int(c)) for a, b, c in runs):
        draw.rectangle((x * module, y * module, (x + n) * module - 1, (y + 1) * module - 1), fill=0)
    return picture


@pytest.mark.parametrize("host", ["127.0.0.1:8000", "labels.example", "archive.some-studio.example.org"])
@pytest.mark.parametrize("code", [make_code("P", 1), make_code("C", 99_999), make_code("B", 12_345)])
def test_a_label_is_read_back(host: str, code: str) -> None:
    with override_settings(LABEL_HOST=host):
        address = label_address(code)
    assert address == f"HTTPS://{host.upper()}/Q/{code}"
    assert set(address) <= ALPHANUMERIC
    drawing = qr_drawing(address)
    found = zxingcpp.read_barcodes(raster(drawing.path, drawing.side))
    assert [one.text for one in found] == [address]
    assert found[0].format == zxingcpp.BarcodeFormat.QRCode
    assert found[0].ec_level == "M"


@pytest.mark.parametrize(("version", "capacity"), CAPACITY_M.items())
def test_the_alphanumeric_capacity_is_the_standards(version: int, capacity: int) -> None:
    """One character more takes the next version: so the address is really kept in the alphanumeric mode."""
    assert qr_drawing("A" * capacity).version == version
    assert qr_drawing("A" * (capacity + 1)).version == version + 1


@pytest.mark.parametrize("version", CAPACITY_M)
def test_size_and_quiet_zone(version: int) -> None:
    drawing = qr_drawing("A" * CAPACITY_M[version])
    assert drawing.side == 17 + 4 * version + 2 * QUIET_ZONE
    runs = [(int(x), int(y), int(n)) for x, y, n in RUN.findall(drawing.path)]
    assert min(x for x, _, _ in runs) == min(y for _, y, _ in runs) == QUIET_ZONE
    assert max(x + n for x, _, n in runs) == max(y + 1 for _, y, _ in runs) == drawing.side - QUIET_ZONE


def test_the_usual_address_needs_version_2_at_most() -> None:
    """33 modules on 22 mm are 0.67 mm each; cloth tape asks for 0.4 to 0.5 mm (common practice, no source).

    A host of up to 20 characters fits; a longer one takes version 3, 0.59 mm a module.
    """
    with override_settings(LABEL_HOST="labels.house.example"):
        assert qr_drawing(label_address(make_code("P", 1))).version == 2


def test_the_library_draws_the_same_modules_as_a_picture() -> None:
    text = "HTTPS://LABELS.EXAMPLE/Q/P000014"
    code = QRCode(error_correction=ERROR_CORRECT_M, border=QUIET_ZONE, box_size=6)
    code.add_data(text)
    code.make(fit=True)
    drawing = qr_drawing(text)
    made = code.make_image().get_image().convert("L")
    assert raster(drawing.path, drawing.side).tobytes() == made.tobytes()


def test_the_mask_is_the_one_with_the_fewest_penalty_points() -> None:
    """ISO/IEC 18004 asks for the best of the eight masks; the library tries them one by one, we all at once."""
    chance = random.Random(7)
    texts = ["".join(chance.choices(sorted(ALPHANUMERIC), k=chance.choice([3, 20, 21, 34, 61, 62]))) for _ in range(40)]
    for text, modules in zip(texts, qr_many(texts), strict=True):
        code = QRCode(error_correction=ERROR_CORRECT_M, border=0)
        code.add_data(text)
        code.make(fit=True)
        assert modules.tolist() == code.get_matrix(), text


@pytest.mark.parametrize("size", ["tag", "tape", "shelf", "trunk"])
def test_the_printed_page_is_read_back(cast: Cast, page: Any, enter: Any, size: str) -> None:
    """The label page as Chromium prints it, photographed at screen resolution: less than any printer has."""
    store = make_store(cast)
    code = actions.issue_label(by=cast.archivist, place=store["BOX1"]).code
    enter(page, cast.archivist)
    page.emulate_media(media="print", color_scheme="dark")
    page.goto(f"/storage/labels/{code}/?size={size}")
    label = page.locator(".label")
    box = label.bounding_box()
    wanted = {"tag": (62, 29), "tape": (90, 25), "shelf": (90, 38), "trunk": (148, 105)}[size]
    assert [round(box[k] * 25.4 / 96, 1) for k in ("width", "height")] == [pytest.approx(mm, abs=0.3) for mm in wanted]
    picture = Image.open(BytesIO(label.screenshot())).convert("L")
    picture = picture.resize((picture.width * 3, picture.height * 3))
    assert [one.text for one in zxingcpp.read_barcodes(picture)] == [f"HTTPS://127.0.0.1:8000/Q/{code}"]
