"""The door to the room's writes: calls and performers, holds, loans out, on set and home."""

from catalog.loans.call_actions import (
    add_wearer,
    close_call,
    edit_call,
    edit_wearer,
    remove_wearer,
    set_need,
    take_call,
)
from catalog.loans.clock_actions import note_damage, start_clock, stop_clock
from catalog.loans.cost_actions import note_cost, strike_cost
from catalog.loans.hold_actions import firm_up, hold, lapse_pencils, release_hold
from catalog.loans.home_actions import (
    close_loan,
    mark_not_back,
    part_came_home,
    put_away,
    release_line,
    return_piece,
)
from catalog.loans.loan_actions import call_off_loan, pull_piece, put_back, send_loan, start_loan
from catalog.loans.pull_actions import pull_from
from catalog.loans.report_actions import report_line, report_line_unchanged, sign_report
from catalog.loans.scene_actions import forget_pictures, note_scene
from catalog.loans.set_actions import give_to, sign_in_piece, sign_out_piece
from catalog.loans.set_day_actions import close_set_day
from catalog.loans.take_over_actions import take_over_loan
from catalog.loans.unlisted_actions import hand_over, note_elsewhere, note_not_ours

__all__ = [
    "add_wearer",
    "call_off_loan",
    "close_call",
    "close_loan",
    "close_set_day",
    "edit_call",
    "edit_wearer",
    "firm_up",
    "forget_pictures",
    "give_to",
    "hand_over",
    "hold",
    "lapse_pencils",
    "mark_not_back",
    "note_cost",
    "note_damage",
    "note_elsewhere",
    "note_not_ours",
    "note_scene",
    "part_came_home",
    "pull_from",
    "pull_piece",
    "put_away",
    "put_back",
    "release_hold",
    "release_line",
    "remove_wearer",
    "report_line",
    "report_line_unchanged",
    "return_piece",
    "send_loan",
    "set_need",
    "sign_in_piece",
    "sign_out_piece",
    "sign_report",
    "start_clock",
    "start_loan",
    "stop_clock",
    "strike_cost",
    "take_call",
    "take_over_loan",
]
