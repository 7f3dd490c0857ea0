"""Gap cards: what stays on the shelf when a piece goes, so that nobody takes the gap for a loss.

A moved piece leaves a card in its place: usual in museum stores (a labelling booklet calls it a proxy card). Eight
cards fill a sheet, to be cut along the lines.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from io import BytesIO

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from catalog.core.paper.fonts import BOLD, MONO, TEXT, cut, fitted, lines_of
from catalog.core.paper.page import SIZES, new_canvas
from catalog.core.paper.qr_mark import draw_qr
from catalog.core.qr import label_address, qr_modules
from catalog.loans import loan_queries
from catalog.loans.models import Loan, LoanLine
from catalog.storage.models import Label, Standing, State

COLUMNS, ROWS = 2, 4
_MARGIN = 6 * mm
_QR = 27 * mm


@dataclass(frozen=True, slots=True)
class GapCard:
    """What one card says; `code` is the piece's label, empty when it has none."""

    number: str
    name: str
    place: str
    code: str
    to_whom: str
    loan: str
    due_on: date


def cards_of(loan: Loan) -> list[GapCard]:
    """A card for each piece that is to pull, pulled or away, in walking order; a fixed number of queries."""
    behind = LoanLine.State.LEFT_BEHIND
    lines = [line for line in loan_queries.lines_of(loan) if line.state != behind]
    ids = [line.piece_id for line in lines]
    where = loan_queries.whereabouts(ids)
    homes = dict(Standing.objects.filter(piece__in=ids, home__isnull=False).values_list("piece", "home__code"))
    live = Label.objects.filter(piece__in=ids, retired_at__isnull=True).order_by("made_at", "pk")
    codes = dict(live.values_list("piece", "code"))
    cards = []
    for line in lines:
        spot = where.get(line.piece_id)
        here = spot.words if spot and spot.state == State.IN_STORE else homes.get(line.piece_id, "")
        piece, code = line.piece, codes.get(line.piece_id, "")
        cards.append(GapCard(piece.number, piece.name, here, code, loan.to_whom, loan.reference, loan.due_on))
    return cards


def cards_pdf(cards: Sequence[GapCard], size: str, house: str) -> bytes:
    """The cards on sheets of the size "a4" or "letter". Raises KeyError for another."""
    width, height = SIZES[size]
    wide, high = width / COLUMNS, height / ROWS
    stream = BytesIO()
    canvas = new_canvas(stream, (width, height), "Gap cards")
    for first in range(0, len(cards), COLUMNS * ROWS):
        _cutting_lines(canvas, width, height)
        for number, card in enumerate(cards[first : first + COLUMNS * ROWS]):
            down, across = divmod(number, COLUMNS)
            _draw(canvas, card, (across * wide, height - (down + 1) * high, wide, high), house)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _cutting_lines(canvas: Canvas, width: float, height: float) -> None:
    canvas.setLineWidth(0.2)
    canvas.setDash(2, 3)
    for n in range(1, COLUMNS):
        canvas.line(n * width / COLUMNS, 0, n * width / COLUMNS, height)
    for n in range(1, ROWS):
        canvas.line(0, n * height / ROWS, width, n * height / ROWS)
    canvas.setDash()


def _draw(canvas: Canvas, card: GapCard, box: tuple[float, float, float, float], house: str) -> None:
    left, bottom, width, height = box
    x, room = left + _MARGIN, width - 2 * _MARGIN
    beside = room - _QR if card.code else room
    y = bottom + height - _MARGIN - 4
    canvas.setFont(TEXT, 8)
    canvas.drawString(x, y, cut(f"Not lost: out on loan. {house}", TEXT, 8, beside))
    points = fitted(card.number, BOLD, 30, beside)
    y -= points + 2
    canvas.setFont(BOLD, points)
    canvas.drawString(x, y, card.number)
    canvas.setFont(TEXT, 11)
    for line in lines_of(card.name, TEXT, 11, beside, 2):
        y -= 14
        canvas.drawString(x, y, line)
    if card.code:
        at = bottom + height - _MARGIN - _QR + 3 * mm
        draw_qr(canvas, qr_modules(label_address(card.code)), left + width - _MARGIN - _QR + 2 * mm, at, _QR)
    y = bottom + _MARGIN + 4 * 14
    back = f"{card.due_on:%-d %b %Y}"
    for name, words, font in (
        ("went to", f"{card.to_whom}, {card.loan}", TEXT),
        ("due back", back, BOLD),
        ("its place", card.place or "not recorded", MONO),
    ):
        canvas.setFont(TEXT, 8)
        canvas.drawString(x, y, name)
        canvas.setFont(font, 10)
        canvas.drawString(x + 17 * mm, y, cut(words, font, 10, room - 17 * mm))
        y -= 14
    canvas.setFont(TEXT, 8)
    canvas.drawString(x, y, "taken on")
    canvas.setLineWidth(0.3)
    canvas.line(x + 17 * mm, y - 1, x + 45 * mm, y - 1)
    canvas.drawString(x + 47 * mm, y, "by")
    canvas.line(x + 52 * mm, y - 1, x + room, y - 1)
