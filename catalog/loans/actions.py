"""The door to the room's writes: calls and performers, holds."""

from catalog.loans.call_actions import (
    add_wearer,
    close_call,
    edit_call,
    edit_wearer,
    remove_wearer,
    set_need,
    take_call,
)
from catalog.loans.hold_actions import firm_up, hold, lapse_pencils, release_hold

__all__ = [
    "add_wearer",
    "close_call",
    "edit_call",
    "edit_wearer",
    "firm_up",
    "hold",
    "lapse_pencils",
    "release_hold",
    "remove_wearer",
    "set_need",
    "take_call",
]
