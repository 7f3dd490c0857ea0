"""The garment card on paper, A6, to hang on the garment: original and present size, what must be undone, no name."""

from datetime import date
from io import BytesIO

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from catalog.care.garment_queries import CardRow, GarmentCard
from catalog.care.models import Alteration
from catalog.core.paper.fonts import BOLD, TEXT, cut, fitted, lines_of
from catalog.core.paper.page import new_canvas
from catalog.core.units import LengthUnit, show_length
from catalog.pieces.calc.kinds import bare_word
from catalog.pieces.measure_fields import show_measure

SIZE = (105 * mm, 148 * mm)
_EDGE, _LINE = 7 * mm, 12
_COLUMNS = (0, 36 * mm, 58 * mm, 78 * mm)
_HEADS = ("", "made", "now", "still gives")


def card_pdf(card: GarmentCard, unit: LengthUnit, house: str, today: date) -> bytes:
    """One card; what does not fit goes on to the next."""
    stream = BytesIO()
    canvas = new_canvas(stream, SIZE, f"Garment card {card.piece.number}")
    y = _head(canvas, card, house, today)
    for row in card.rows:
        y = _room(canvas, card, house, today, y, _LINE)
        _sizes(canvas, row, unit, y)
        y -= _LINE
    y -= _LINE / 2
    for alteration in card.open:
        told = _told(alteration, unit)
        y = _room(canvas, card, house, today, y, _LINE * (len(told) + 0.5))
        for number, line in enumerate(told):
            canvas.setFont(BOLD if number == 0 else TEXT, 9)
            canvas.drawString(_EDGE, y, cut(line, BOLD if number == 0 else TEXT, 9, SIZE[0] - 2 * _EDGE))
            y -= _LINE
        y -= _LINE / 2
    if not card.open:
        canvas.setFont(TEXT, 9)
        canvas.drawString(_EDGE, _room(canvas, card, house, today, y, _LINE), "No alteration is in it.")
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _room(canvas: Canvas, card: GarmentCard, house: str, today: date, y: float, needed: float) -> float:
    """Where the next lines go: here, or at the head of a new card."""
    if y - needed >= _EDGE + _LINE:
        return y
    canvas.showPage()
    return _head(canvas, card, house, today)


def _head(canvas: Canvas, card: GarmentCard, house: str, today: date) -> float:
    room, y = SIZE[0] - 2 * _EDGE, SIZE[1] - _EDGE - 22
    points = fitted(card.piece.number, BOLD, 26, room)
    canvas.setFont(BOLD, points)
    canvas.drawString(_EDGE, y, card.piece.number)
    canvas.setFont(TEXT, 10)
    for line in lines_of(card.piece.name, TEXT, 10, room, 2):
        y -= 13
        canvas.drawString(_EDGE, y, line)
    canvas.setFont(TEXT, 7)
    foot = f"{house}. Printed {today:%-d %b %Y}. Nothing is cut, dyed or glued; stitches that go back."
    canvas.drawString(_EDGE, _EDGE, cut(foot, TEXT, 7, room))
    y -= 16
    canvas.setFont(TEXT, 8)
    for start, word in zip(_COLUMNS, _HEADS, strict=True):
        canvas.drawString(_EDGE + start, y, word)
    canvas.setLineWidth(0.4)
    canvas.line(_EDGE, y - 3, SIZE[0] - _EDGE, y - 3)
    return y - _LINE - 2


def _sizes(canvas: Canvas, row: CardRow, unit: LengthUnit, y: float) -> None:
    made, now, left = row.sizes.original, row.sizes.present, row.sizes.left
    words = (
        bare_word(row.point),
        "not measured" if made is None else show_measure(row.point, made, unit),
        "not measured" if now is None else show_measure(row.point, now, unit),
        ("not measured" if left is None else show_length(left, unit)) if row.point.let_out else "",
    )
    ends = (*_COLUMNS[1:], SIZE[0] - 2 * _EDGE)
    for number, (start, end, word) in enumerate(zip(_COLUMNS, ends, words, strict=True)):
        font = BOLD if number == 2 and row.sizes.is_altered else TEXT
        canvas.setFont(font, 8)
        canvas.drawString(_EDGE + start, y, cut(word, font, 8, end - start - 2))


def _told(row: Alteration, unit: LengthUnit) -> list[str]:
    """What was done, where and by how much; by when it is undone; for which number."""
    by = f" by {show_length(abs(row.change_mm), unit)}" if row.change_mm else ""
    what = " ".join(part for part in (row.get_way_display(), by.strip()) if part)
    until = f"undo by {row.undo_by:%-d %b %Y}" if row.undo_by else "no day to undo it by"
    number = f"; for {row.for_number}" if row.for_number else ""
    second = "; ".join(part for part in (what, row.seam) if part)
    return [row.what, *([second] if second else []), f"{until}{number}; done {row.done_on:%-d %b %Y}"]
