"""Giving pieces a drawing until somebody takes a photograph."""

from collections.abc import Callable, Iterable

from catalog.access.models import User
from catalog.exchange.drawing import draw_piece
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece

CAPTION = "drawing, not a photograph"


def draw_missing(*, by: User, each: Callable[[list[Piece]], Iterable[Piece]] = iter) -> int:
    """Draw every piece that has no picture yet, in the shape of its kind and the colours of its materials; how many.

    Each drawing is stored by itself: what was interrupted goes on where it stopped.
    """
    waiting = list(Piece.objects.filter(pictures=None).prefetch_related("materials"))
    for piece in each(waiting):
        materials = [material.name for material in piece.materials.all()]
        data = draw_piece(kind=piece.kind, materials=materials, name=piece.name, seed=piece.number)
        pieces.add_picture(by=by, piece=piece, data=data, caption=CAPTION)
    return len(waiting)
