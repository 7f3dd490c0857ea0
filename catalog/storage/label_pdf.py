"""Labels as a PDF in true millimetres: on a sheet from a start position, or one a page for a roll.

Each label keeps a margin free, because printers drift; its number stands in the largest type that fits, so it is never
cut. Each code is a mask of ones and zeros: a thousand labels are drawn in a second.
"""

from collections.abc import Sequence
from io import BytesIO

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from catalog.core.errors import Refused
from catalog.core.paper.fonts import BOLD, MONO, TEXT, cut, fitted, lines_of, width_of
from catalog.core.paper.page import new_canvas
from catalog.core.paper.qr_mark import draw_qr
from catalog.core.qr import Modules, qr_many
from catalog.storage.labels import SHEETS, SIZES, Print, Sheet, Size, dealt

# Left free at each edge; what drifts by a millimetre is still on its label.
MARGIN = 2.0


def labels_pdf(prints: Sequence[Print], paper: str, *, start: int = 1, house: str = "") -> bytes:
    """The labels on the paper of this key. Raises Refused for a paper nobody declared, or a start beyond the sheet."""
    if paper in SIZES:
        return roll_pdf(prints, SIZES[paper], house=house)
    if paper not in SHEETS:
        raise Refused(f"There is no label paper “{paper[:20]}”.", field="paper")
    if not 1 <= start <= SHEETS[paper].on_one:
        raise Refused(f"This sheet has {SHEETS[paper].on_one} labels: start at one of them.", field="start")
    return sheets_pdf(prints, SHEETS[paper], start=start, house=house)


def sheets_pdf(prints: Sequence[Print], sheet: Sheet, *, start: int = 1, house: str = "") -> bytes:
    """The labels on sheets, the first one at `start`. Raises ValueError for a start that is not on the sheet."""
    pages = dealt(list(prints), sheet, start)
    codes = qr_many(one.address for one in prints)
    stream = BytesIO()
    canvas = new_canvas(stream, (sheet.width * mm, sheet.height * mm), "Labels")
    for cells in pages:
        for number, one in enumerate(cells):
            if one is not None:
                left, top = sheet.corner(number)
                box = (left, sheet.height - top - sheet.label_height, sheet.label_width, sheet.label_height)
                _draw(canvas, one, next(codes), box, house)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def roll_pdf(prints: Sequence[Print], size: Size, *, house: str = "") -> bytes:
    """One label a page, the page as large as the label."""
    stream = BytesIO()
    canvas = new_canvas(stream, (size.width * mm, size.height * mm), "Labels")
    codes = qr_many(one.address for one in prints)
    for one, code in zip(prints, codes, strict=True):
        _draw(canvas, one, code, (size.spare, 0, size.width - 2 * size.spare, size.height), house)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _draw(canvas: Canvas, one: Print, code: Modules, box: tuple[float, float, float, float], house: str) -> None:
    """One label in its box (left, bottom, width, height in millimetres): the code at the left, words beside it."""
    left, bottom, width, height = (value * mm for value in box)
    margin = MARGIN * mm
    side = min(height - 2 * margin, 0.47 * width)
    draw_qr(canvas, code, left + margin, bottom + (height - side) / 2, side)
    x = left + margin + side + 1.2 * mm
    _words(canvas, one, x, bottom, left + width - margin - x, height, house)


def _words(canvas: Canvas, one: Print, x: float, bottom: float, room: float, height: float, house: str) -> None:
    """Number, name, code and the rest, as a block in the middle of the label's height."""
    unit = height / (38.1 * mm)  # type grows with the label, as its number may
    is_blank = one.number == one.code
    number = one.stem if is_blank else one.number
    large = fitted(f"{number}00", MONO, 24 * unit, room) if is_blank else fitted(number, BOLD, 19 * unit, room)
    name, code, tiny = (round(max(least, size * unit), 1) for least, size in ((6.0, 8.5), (7.0, 9.5), (5.5, 6.5)))
    names = lines_of(one.name, TEXT, name, room, 3 if height > 60 * mm else 2) if one.name else []
    rest = [text for text in (one.side, house if height > 30 * mm else "") if text]
    tall = large + len(names) * 1.15 * name + (0 if is_blank else 1.5 * code) + len(rest) * 1.25 * tiny
    y = bottom + (height + tall) / 2 - 0.8 * large
    if is_blank:
        _code(canvas, one, x, y, large)
    else:
        canvas.setFont(BOLD, large)
        _put(canvas, x, y, number)
    canvas.setFont(TEXT, name)
    for line in names:
        y -= 1.15 * name if line is not names[0] else 1.3 * name
        _put(canvas, x, y, line)
    if not is_blank:
        y -= 1.6 * code
        _code(canvas, one, x, y, fitted(f"{one.code}0", MONO, code, room))
    canvas.setFont(TEXT, tiny)
    for line in rest:
        y -= 1.45 * tiny
        _put(canvas, x, y, cut(line, TEXT, tiny, room))


def _code(canvas: Canvas, one: Print, x: float, y: float, points: float) -> None:
    """The code in mono, its check character in a frame."""
    canvas.setFont(MONO, points)
    _put(canvas, x, y, one.stem)
    at = x + width_of(one.stem, MONO, points) + 0.3 * points
    _put(canvas, at, y, one.check)
    canvas.setLineWidth(0.06 * points)
    canvas.rect(*(round(v, 2) for v in (at - 0.12 * points, y - 0.2 * points, 0.84 * points, 1.05 * points)))


def _put(canvas: Canvas, x: float, y: float, text: str) -> None:
    """Hundredths of a point are four thousandths of a millimetre; more digits would only make the file larger."""
    canvas.drawString(round(x, 2), round(y, 2), text)
