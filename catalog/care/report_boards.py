"""What the pins of a condition report stand on: pictures of the piece, and the outline of its kind."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.urls import reverse
from django.utils import timezone

from catalog.care.models import ConditionMark
from catalog.core.models import File
from catalog.pieces.calc.kinds import KINDS
from catalog.pieces.models import Piece, PieceFile
from catalog.pieces.queries import pictures_for

# How wide it is shown, in CSS pixels: a tap is told in these, and the server must know them.
WIDTHS = (280, 460)


@dataclass(frozen=True, slots=True)
class Board:
    """Something a pin can stand on: a picture or an outline, with its height in thousandths of its width."""

    key: str
    word: str
    height: int = 1000
    src: str = ""
    drawing: str = ""
    file: File | None = None
    pins: list[dict[str, Any]] = field(default_factory=list)

    @property
    def shown(self) -> list[dict[str, int]]:
        """The two sizes in which it is shown, in CSS pixels."""
        return [{"width": width, "height": width * self.height // 1000} for width in WIDTHS]

    def pin_of(self, mark: ConditionMark) -> dict[str, int] | None:
        """Where the mark's pin stands here, in thousandths of the width; None when it stands elsewhere or nowhere."""
        if mark.x_permille is None or mark.y_permille is None or (mark.outline or f"p{mark.file_id}") != self.key:
            return None
        return {"x": mark.x_permille, "y": mark.y_permille * self.height // 1000}


def outlines_of(piece: Piece) -> list[Board]:
    """The outline of the piece's kind, from the front and from the back."""
    drawing = f"catalog/_parts/measure/{KINDS[piece.kind].drawing}.svg.html"
    return [Board(one.value, one.label, drawing=drawing) for one in ConditionMark.Outline]


def board_of(row: PieceFile) -> Board:
    """A picture of the piece."""
    src = reverse("pieces:picture", args=[row.file_id, "large"])
    word = f"{row.get_view_display()}, {timezone.localdate(row.added_at):%-d %b %Y}"
    return Board(f"p{row.file_id}", word, height_of(row.file), src=src, file=row.file)


def boards_of(
    piece: Piece, user: AbstractBaseUser | AnonymousUser, taken: Iterable[File], marks: Sequence[ConditionMark]
) -> list[Board]:
    """The pictures taken for a report and whatever else carries one of its pins, with the pins; only what the person
    may see.
    """
    wanted = {f"p{file.pk}" for file in taken}
    found = []
    for board in [*(board_of(row) for row in pictures_for(piece, user)), *outlines_of(piece)]:
        board.pins.extend({"n": n, **pin} for n, mark in enumerate(marks, 1) if (pin := board.pin_of(mark)))
        if board.pins or board.key in wanted:
            found.append(board)
    return found


def height_of(file: File) -> int:
    """Of a picture, in thousandths of its width."""
    return 1000 * (file.height_px or 1) // (file.width_px or 1)
