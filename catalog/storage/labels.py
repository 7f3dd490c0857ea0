"""What a label shows and on what it is printed. Millimetres; the style sheet `labels.css` has the same sizes.

Sheets of adhesive labels follow layouts that many makers share. The 21 of 63.5 x 38.1 mm on A4 (3 x 7, left 7.2, top
15.15, gap 2.5) and the 30 of 2.625 x 1 inch on US Letter (left 0.1875, top 0.5, pitch 2.75 x 1) stand in published
layout tables; the 14 of 99.1 x 38.1 mm on A4 and the 14 of 4 x 1 1/3 inch on Letter are from memory. All of them are
common practice, no standard: hold a print on plain paper against the sheet before the first real one. A trunk's labels
fill a quarter of a sheet, to be cut.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from catalog.core.qr import QrDrawing, label_address, qr_drawing
from catalog.pieces.models import Piece
from catalog.storage.models import Label, Place

_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of labels: its own size, how many stand on it, where the first one stands and how far the next is."""

    words: str
    width: float
    height: float
    columns: int
    rows: int
    label_width: float
    label_height: float
    left: float
    top: float
    pitch_x: float
    pitch_y: float

    @property
    def on_one(self) -> int:
        """How many labels are on one sheet."""
        return self.columns * self.rows

    def corner(self, cell: int) -> tuple[float, float]:
        """Left and top of the label with this number; 0 is the top left one, and they run across."""
        down, across = divmod(cell, self.columns)
        return self.left + across * self.pitch_x, self.top + down * self.pitch_y


SHEETS = {
    "a4-21": Sheet("A4, 21 labels of 63.5 × 38.1 mm", 210, 297, 3, 7, 63.5, 38.1, 7.2, 15.15, 66.0, 38.1),
    "letter-30": Sheet(
        "US Letter, 30 labels of 2.625 × 1 inch", 8.5 * _INCH, 11 * _INCH, 3, 10, 2.625 * _INCH, _INCH,
        0.1875 * _INCH, 0.5 * _INCH, 2.75 * _INCH, _INCH,
    ),
    "a4-14": Sheet("A4, 14 labels of 99.1 × 38.1 mm", 210, 297, 2, 7, 99.1, 38.1, 4.65, 15.15, 101.6, 38.1),
    "letter-14": Sheet(
        "US Letter, 14 labels of 4 × 1⅓ inch", 8.5 * _INCH, 11 * _INCH, 2, 7, 4 * _INCH, 4 / 3 * _INCH,
        0.15625 * _INCH, 0.8333 * _INCH, 4.1875 * _INCH, 4 / 3 * _INCH,
    ),
    "a4-4": Sheet("A4, 4 trunk labels, to be cut", 297, 210, 2, 2, 148.5, 105, 0, 0, 148.5, 105),
    "letter-4": Sheet(
        "US Letter, 4 trunk labels, to be cut", 11 * _INCH, 8.5 * _INCH, 2, 2, 5.5 * _INCH, 4.25 * _INCH,
        0, 0, 5.5 * _INCH, 4.25 * _INCH,
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Size:
    """A single label on a roll; `spare` millimetres at either end stay empty, for the stitches."""

    words: str
    width: float
    height: float
    spare: float = 0


# The tape is cotton and sewn in; 25 mm is a usual width of it, from memory.
SIZES = {
    "tag": Size("tie-on tag, 62 × 29 mm", 62, 29),
    "tape": Size("cotton tape to sew in, 90 × 25 mm", 90, 25, 10),
    "shelf": Size("shelf edge, 90 × 38 mm", 90, 38),
    "trunk": Size("trunk, 148 × 105 mm, for three sides", 148, 105),
}
# A trunk is labelled on three sides, because lids are swapped (an art handlers' rule).
SIDES = ("lid", "long side", "short side")
TRUNK_PAPERS = frozenset({"trunk", "a4-4", "letter-4"})
# Everything that a label may be printed on: a roll of single labels, or a sheet.
PAPERS = {key: f"Roll: {size.words}" for key, size in SIZES.items()} | {key: one.words for key, one in SHEETS.items()}


@dataclass(frozen=True, slots=True)
class Print:
    """One label ready to print; `side` says on which side of a trunk it belongs."""

    code: str
    number: str
    name: str
    side: str = ""

    @property
    def address(self) -> str:
        """What the code says."""
        return label_address(self.code)

    @property
    def qr(self) -> QrDrawing:
        """The code as a drawing for a page."""
        return qr_drawing(self.address)

    @property
    def stem(self) -> str:
        """The code without its check character."""
        return self.code[:-1]

    @property
    def check(self) -> str:
        """The check character."""
        return self.code[-1]


def print_of(label: Label, side: str = "") -> Print:
    """What stands on the label: number in large type, name, code with its check character. A blank shows its code."""
    number, name = label.code, ""
    if label.piece is not None:
        number, name = label.piece.number, label.piece.name
    elif label.place is not None:
        number, name = label.place.code, label.place.name
    return Print(label.code, number, name, side)


def prints_of(labels: Iterable[Label], paper: str) -> list[Print]:
    """What is printed for these labels: on trunk labels a trunk, crate or box gets one for each of three sides."""
    found: list[Print] = []
    for label in labels:
        boxed = label.place is not None and label.place.is_container and paper in TRUNK_PAPERS
        found += [print_of(label, side) for side in (SIDES if boxed else ("",))]
    return found


def usual_size(thing: Piece | Place | None) -> str:
    """The size one would print for the thing."""
    if isinstance(thing, Place):
        return "trunk" if thing.is_container else "shelf"
    return "tag"


def on_sheets(labels: list[Label], sheet: Sheet, start: int) -> list[list[Print | None]]:
    """The labels dealt on sheets; None leaves the places before `start` empty on a sheet that was begun."""
    return dealt([print_of(label) for label in labels], sheet, start)


def dealt(prints: list[Print], sheet: Sheet, start: int) -> list[list[Print | None]]:
    """The same for what is ready to print. Raises ValueError for a start that is not on the sheet."""
    if not 1 <= start <= sheet.on_one:
        raise ValueError(f"This sheet has {sheet.on_one} labels: start at 1 to {sheet.on_one}.")
    cells: list[Print | None] = [None] * (start - 1) + list(prints)
    return [cells[i : i + sheet.on_one] for i in range(0, len(cells), sheet.on_one)]
