"""What a label shows and on what it is printed. Millimetres; the style sheet `labels.css` has the same sizes.

Sheets: A4 with 21 labels of 63.5 x 38.1 mm (3 x 7, left 7.2, top 15.15, gap 2.5) and US Letter with 30 labels of
2.625 x 1 inch (3 x 10, left 0.1875, top 0.5, pitch 2.75 x 1): the usual geometry of such sheets as their layouts
give it; common practice, no standard.
"""

from dataclasses import dataclass

from catalog.pieces.models import Piece
from catalog.storage.models import Label, Place
from catalog.storage.qr import QrDrawing, label_address, qr_drawing


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of labels: how many stand on one, and in how many columns."""

    words: str
    on_one: int
    columns: int


SHEETS = {
    "a4-21": Sheet("A4, 21 labels of 63.5 × 38.1 mm", 21, 3),
    "letter-30": Sheet("US Letter, 30 labels of 2.625 × 1 inch", 30, 3),
}

# Single labels: a sewn tape or tie-on tag, a shelf edge, a trunk's side.
SIZES = {"tag": "tag, 62 × 29 mm", "shelf": "shelf edge, 90 × 38 mm", "trunk": "trunk, 148 × 105 mm"}


@dataclass(frozen=True, slots=True)
class Print:
    """One label ready to print."""

    code: str
    number: str
    name: str
    qr: QrDrawing

    @property
    def stem(self) -> str:
        """The code without its check character."""
        return self.code[:-1]

    @property
    def check(self) -> str:
        """The check character."""
        return self.code[-1]


def print_of(label: Label) -> Print:
    """What stands on the label: number in large type, name, code with its check character. A blank shows its code."""
    number, name = label.code, ""
    if label.piece is not None:
        number, name = label.piece.number, label.piece.name
    elif label.place is not None:
        number, name = label.place.code, label.place.name
    return Print(label.code, number, name, qr_drawing(label_address(label.code)))


def usual_size(thing: Piece | Place | None) -> str:
    """The size one would print for the thing."""
    if isinstance(thing, Place):
        return "trunk" if thing.is_container else "shelf"
    return "tag"


def on_sheets(labels: list[Label], sheet: Sheet, start: int) -> list[list[Print | None]]:
    """The labels dealt on sheets; None leaves the places before `start` empty on a sheet that was begun."""
    cells: list[Print | None] = [None] * (start - 1) + [print_of(label) for label in labels]
    return [cells[i : i + sheet.on_one] for i in range(0, len(cells), sheet.on_one)]
