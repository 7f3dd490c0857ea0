"""Productions, roles, looks, slots and sets."""

from catalog.pieces.piece_models import (
    MatchValue,
    Material,
    Measure,
    Part,
    Piece,
    PieceFile,
    Valuation,
)
from catalog.pieces.production_models import Look, OutfitSet, Production, Role, Slot

__all__ = [
    "Look",
    "MatchValue",
    "Material",
    "Measure",
    "OutfitSet",
    "Part",
    "Piece",
    "PieceFile",
    "Production",
    "Role",
    "Slot",
    "Valuation",
]
