"""A flat drawing of a piece: the outline of its kind in the colours of its materials.

It stands where a photograph will be, so it must show at a glance what sort of thing hangs there, and must never be
taken for a photograph.
"""

from collections.abc import Sequence

from catalog.exchange.board import Board
from catalog.exchange.outlines import outline_of


def draw_piece(*, kind: str, materials: Sequence[str], name: str, seed: str) -> bytes:
    """A PNG of 640 pixels: the outline of the kind in the materials' colours; `seed` varies what may vary."""
    board = Board(materials, seed)
    outline_of(kind, name)(board)
    return board.png()
