"""The paper kit: frame, page numbers, repeated heads, letters beyond Latin, codes in true millimetres, read back."""

import subprocess
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from PIL import Image
from reportlab.lib.units import mm

from catalog.core.paper import parts
from catalog.core.paper.fonts import BOLD, TEXT, cut, fitted, lines_of, register, width_of
from catalog.core.paper.page import Heading, new_canvas, paper_pdf
from catalog.core.paper.qr_mark import draw_qr
from catalog.core.qr import QUIET_ZONE, qr_modules
from tests.papers import pages_of, words_of

HEAD = Heading(
    title="Rescue list, Główna hala",
    house="Moor Archive",
    address="https://moor.example/storage/MAIN/",
    printed=datetime(2026, 9, 8, 14, 5, tzinfo=UTC),
    by="archivist",
    warning="Not to be copied without its date",
)


@pytest.mark.parametrize(("size", "points"), [("a4", "595.276 x 841.89"), ("letter", "612 x 792")])
def test_each_page_has_its_number_date_and_address(size: str, points: str, tmp_path: Path) -> None:
    rows = [(f"M-{n:04d}", "łódź, Ёлка, Ελλάδα, façade") for n in range(120)]
    data = paper_pdf(HEAD, [parts.answer("120 pieces."), parts.table(["Number", "Name"], rows, [40, 100])], size)
    pages = words_of(data).split("\f")[:-1]
    assert len(pages) > 2
    for number, page in enumerate(pages, 1):
        assert f"{number} of {len(pages)}" in page
        assert "Printed 8 Sep 2026, 14:05 by archivist" in page
        assert HEAD.address in page
        assert HEAD.warning in page
        assert HEAD.title in page
        assert page.count("Number") == 1, "the table's head stands on each page"
    found = " ".join(pages)
    assert all(f"M-{n:04d}" in found for n in range(120))
    assert found.count("łódź, Ёлка, Ελλάδα, façade") == 120
    (tmp_path / "x.pdf").write_bytes(data)
    info = subprocess.run(["pdfinfo", str(tmp_path / "x.pdf")], capture_output=True, text=True, check=True).stdout
    assert points in info


def test_the_fonts_are_embedded(tmp_path: Path) -> None:
    (tmp_path / "x.pdf").write_bytes(paper_pdf(HEAD, [parts.text("łódź"), parts.mono("P00001Q")]))
    fonts = subprocess.run(["pdffonts", str(tmp_path / "x.pdf")], capture_output=True, text=True, check=True).stdout
    used = [line for line in fonts.splitlines()[2:] if "Helvetica" not in line]
    assert len(used) == 3
    assert all(line.split()[-5:-3] == ["yes", "yes"] for line in used), fonts


def test_signs_of_markup_are_only_signs() -> None:
    words = words_of(paper_pdf(HEAD, [parts.text("<b>bold</b> & <para>"), parts.facts([("A & B", "x < y")])]))
    tight = words.replace(" ", "")
    assert all(said in tight for said in ("<b>bold</b>&<para>", "A&B", "x<y"))


def test_a_code_stands_in_true_millimetres() -> None:
    """Measured on the page as rendered at 300 dpi: ISO/IEC 18004 wants 4 clear modules on each side."""
    modules = qr_modules("HTTPS://LABELS.EXAMPLE/Q/P000014")
    stream = BytesIO()
    canvas = new_canvas(stream, (60 * mm, 50 * mm), "x")
    draw_qr(canvas, modules, 10 * mm, 8 * mm, 33 * mm)
    canvas.showPage()
    canvas.save()
    (page,) = pages_of(stream.getvalue(), 300)
    dark = np.argwhere(np.array(page) < 128)
    (top, left), (bottom, right) = dark.min(axis=0), dark.max(axis=0) + 1
    dots = 300 / 25.4
    grid = len(modules) + 2 * QUIET_ZONE
    module = 33 / grid
    assert left / dots == pytest.approx(10 + 4 * module, abs=0.1)
    assert (page.height - bottom) / dots == pytest.approx(8 + 4 * module, abs=0.1)
    assert (right - left) / dots == pytest.approx(33 - 8 * module, abs=0.17)
    assert (bottom - top) / dots == pytest.approx(33 - 8 * module, abs=0.17)
    assert [one.text for one in zxingcpp.read_barcodes(page)] == ["HTTPS://LABELS.EXAMPLE/Q/P000014"]


@pytest.mark.parametrize("words", ["Coat", "A coat of oilskin, long, with a name " * 4, "Oilskincoatwithoutaspace" * 5])
def test_type_is_shrunk_cut_or_broken_and_never_runs_over(words: str) -> None:
    register()
    room = 40 * mm
    assert width_of(words, BOLD, fitted(words, BOLD, 20, room, smallest=0.5)) <= room
    assert width_of(cut(words, TEXT, 8, room), TEXT, 8) <= room
    lines = lines_of(words, TEXT, 8, room, 2)
    assert len(lines) <= 2
    assert all(width_of(line, TEXT, 8) <= room for line in lines)
    assert cut("Coat", TEXT, 8, room) == "Coat"


def test_a_picture_keeps_its_proportions() -> None:
    stream = BytesIO()
    Image.new("RGB", (300, 200), "red").save(stream, "JPEG")
    made = parts.picture(stream.getvalue(), 30, 30)
    assert (made.drawWidth, made.drawHeight) == (pytest.approx(30 * mm), pytest.approx(20 * mm))
