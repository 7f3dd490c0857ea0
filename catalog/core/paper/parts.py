"""What a paper is put together from: an answer first, headings, text, facts, tables, pictures, QR codes."""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from io import BytesIO
from typing import TypeAlias
from xml.sax.saxutils import escape

from reportlab.lib import colors
from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable, Image, Paragraph, Spacer, Table, TableStyle

from catalog.core.paper.fonts import BOLD, MONO, TEXT, register
from catalog.core.paper.qr_mark import QrMark

Cell: TypeAlias = str | Flowable | list[Flowable]
_PENCIL = (("LEFTPADDING", (1, 0), (-1, -1), 4), ("BOTTOMPADDING", (0, 1), (-1, -1), 6))
_RULE = colors.Color(0.45, 0.45, 0.45)


@lru_cache(maxsize=32)
def _style(
    name: str, font: str, size: float, *, before: float = 0, after: float = 0, keep: int = 0, right: bool = False
) -> ParagraphStyle:
    register()
    return ParagraphStyle(
        name,
        fontName=font,
        fontSize=size,
        leading=size * 1.3,
        spaceBefore=before,
        spaceAfter=after,
        splitLongWords=1,
        keepWithNext=keep,
        alignment=TA_RIGHT if right else TA_LEFT,
    )


def answer(text: str) -> Paragraph:
    """What the paper says, in one sentence, in its largest type."""
    return Paragraph(escape(text), _style("answer", BOLD, 15, after=6))


def heading(text: str) -> Paragraph:
    """A heading that stays with what follows it."""
    return Paragraph(escape(text), _style("heading", BOLD, 11, before=9, after=3, keep=1))


def text(words: str) -> Paragraph:
    """Running text."""
    return Paragraph(escape(words), _style("text", TEXT, 9.5, after=4))


def small(words: str) -> Paragraph:
    """Sources, how old a fact is."""
    return Paragraph(escape(words), _style("small", TEXT, 8, after=3))


def strong(words: str) -> Paragraph:
    """A word in a table that must not be overlooked."""
    return Paragraph(escape(words), _style("strong", BOLD, 8.5))


def mono(words: str) -> Paragraph:
    """Numbers, codes, hashes: broken anywhere."""
    return Paragraph(escape(words), _style("mono", MONO, 8.5))


def gap(height_mm: float = 3) -> Spacer:
    """Some room."""
    return Spacer(0, height_mm * mm)


def number(words: str) -> Paragraph:
    """An amount or a count in a table, at the right edge of its column."""
    return Paragraph(escape(words), _style("number", TEXT, 8.5, right=True))


def number_head(words: str) -> Paragraph:
    """The head of a column of numbers."""
    return Paragraph(escape(words), _style("number head", BOLD, 8, right=True))


class TickBox(Flowable):  # type: ignore[misc]  # the PDF library has no types
    """A square to tick with a pencil."""

    def __init__(self, side_mm: float = 4) -> None:
        super().__init__()
        self.width = self.height = side_mm * mm

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        self.canv.setLineWidth(0.6)
        self.canv.rect(0, 0, self.width, self.height)


def signatures(who: Sequence[str], width_mm: float = 170) -> Flowable:
    """A line to sign on for each, side by side, with room for name and day; never parted from each other."""
    between = 8.0
    one = (width_mm + between) / len(who) - between
    cells: list[list[Flowable]] = [[], [], []]
    widths: list[float] = []
    lines: list[tuple[object, ...]] = []
    for n, name in enumerate(who):
        for row, words in enumerate((f"{name}:", "", "Name in letters, signature, day")):
            cells[row] += [small(words), small("")]
        widths += [one * mm, between * mm]
        lines.append(("LINEBELOW", (2 * n, 1), (2 * n, 1), 0.6, colors.black))
    made = Table(cells, colWidths=widths, rowHeights=[5 * mm, 13 * mm, 5 * mm], hAlign="LEFT")
    whole = ("NOSPLIT", (0, 0), (-1, -1))
    tight = (("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0))
    made.setStyle(TableStyle([*lines, whole, *tight]))
    made.spaceBefore = 4 * mm
    return made


def qr(words: str, side_mm: float) -> QrMark:
    """The text as a code, with its quiet zone so many millimetres wide."""
    return QrMark(words, side_mm * mm)


def picture(data: bytes, width_mm: float, height_mm: float) -> Flowable:
    """A JPEG within a box, its proportions kept."""
    wide, high = ImageReader(BytesIO(data)).getSize()
    scale = min(width_mm / wide, height_mm / high) * mm
    return Image(BytesIO(data), wide * scale, high * scale, lazy=0)


def stack(*rows: Flowable) -> list[Flowable]:
    """Several things one under the other in one cell."""
    return list(rows)


def facts(rows: Iterable[tuple[str, Cell]], name_mm: float = 45, known_mm: float = 125) -> Table:
    """Names at the left, what is known at the right."""
    cells = [[small(name), text(known) if isinstance(known, str) else known] for name, known in rows]
    table = Table(cells, colWidths=[name_mm * mm, known_mm * mm], hAlign="LEFT")
    table.setStyle(
        TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("TOPPADDING", (0, 0), (-1, -1), 1),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
            ]
        )
    )
    return table


def table(
    head: Sequence[Cell], rows: Iterable[Sequence[Cell]], widths_mm: Sequence[float], *, to_fill_in: bool = False
) -> Table:
    """A table whose head stands again on each page; a row is never parted between two pages.

    `to_fill_in`: ruled between its columns too, for a pencil.
    """
    style = _style("cell", TEXT, 8.5)
    cells: list[list[Flowable | list[Flowable]]] = [
        [Paragraph(escape(one), _style("head", BOLD, 8)) if isinstance(one, str) else one for one in head]
    ]
    cells += [[Paragraph(escape(c), style) if isinstance(c, str) else c for c in row] for row in rows]
    made = Table(cells, colWidths=[width * mm for width in widths_mm], repeatRows=1, hAlign="LEFT", splitByRow=1)
    made.setStyle(
        TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LINEBELOW", (0, 0), (-1, 0), 0.8, colors.black),
                ("LINEBELOW", (0, 1), (-1, -1), 0.3, _RULE),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 5),
                ("TOPPADDING", (0, 0), (-1, -1), 2.5),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
                *([("INNERGRID", (0, 1), (-1, -1), 0.3, _RULE), *_PENCIL] if to_fill_in else []),
            ]
        )
    )
    made.spaceAfter = 2 * mm
    return made
