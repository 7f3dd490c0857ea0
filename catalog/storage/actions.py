"""Everything that writes in this room, by the verb."""

from catalog.storage.found_actions import (
    add_found_picture,
    know_again,
    know_part_again,
    measure_found,
    move_found,
    take_in_found,
)
from catalog.storage.label_actions import (
    MOST_BLANKS,
    bind_label,
    issue_label,
    issue_labels,
    make_blanks,
    replace_label,
)
from catalog.storage.missing_actions import find_relabelled, mark_found, mark_missing
from catalog.storage.move_actions import (
    bring_back,
    move_container,
    move_piece,
    receive_piece,
    send_out,
    set_home,
    take_to_treatment,
)
from catalog.storage.place_actions import add_place, edit_place
from catalog.storage.receiving_actions import (
    close_receipt,
    expect_piece,
    list_known,
    list_new,
    list_unclear,
    note_not_kept,
    receive_trunk,
    release_trunk,
)
from catalog.storage.rescue_actions import take_rescue_list
from catalog.storage.scan_actions import carry_out, drop_scan, note_scan, put_scanned, undo_scanned
from catalog.storage.search_actions import find_here, log_search
from catalog.storage.undo_actions import undo_move

__all__ = [
    "MOST_BLANKS",
    "add_found_picture",
    "add_place",
    "bind_label",
    "bring_back",
    "carry_out",
    "close_receipt",
    "drop_scan",
    "edit_place",
    "expect_piece",
    "find_here",
    "find_relabelled",
    "issue_label",
    "issue_labels",
    "know_again",
    "know_part_again",
    "list_known",
    "list_new",
    "list_unclear",
    "log_search",
    "make_blanks",
    "mark_found",
    "mark_missing",
    "measure_found",
    "move_container",
    "move_found",
    "move_piece",
    "note_not_kept",
    "note_scan",
    "put_scanned",
    "receive_piece",
    "receive_trunk",
    "release_trunk",
    "replace_label",
    "send_out",
    "set_home",
    "take_in_found",
    "take_rescue_list",
    "take_to_treatment",
    "undo_move",
    "undo_scanned",
]
