"""Everything that writes in this room, by the verb."""

from catalog.pieces.measure_actions import add_part, set_match, set_measure, set_measures, value_piece
from catalog.pieces.picture_actions import add_picture, change_picture
from catalog.pieces.piece_actions import edit_piece, record_piece
from catalog.pieces.production_actions import (
    add_look,
    add_production,
    add_role,
    add_set,
    add_slot,
    edit_production,
    edit_slot,
    material,
)

__all__ = [
    "add_look",
    "add_part",
    "add_picture",
    "add_production",
    "add_role",
    "add_set",
    "add_slot",
    "change_picture",
    "edit_piece",
    "edit_production",
    "edit_slot",
    "material",
    "record_piece",
    "set_match",
    "set_measure",
    "set_measures",
    "value_piece",
]
