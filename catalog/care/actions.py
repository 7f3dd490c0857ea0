"""Everything that writes in this room, by the verb."""

from catalog.care.alteration_actions import alter, undo_alteration
from catalog.care.condition_actions import (
    decide_wear,
    find_hazard,
    question_wear,
    record_pack,
)
from catalog.care.evidence_actions import approve_cleaning, say_breakdown
from catalog.care.inspection_actions import seen_no_change
from catalog.care.look_actions import add_sample, decide_sample
from catalog.care.pest_actions import hold_against_pests
from catalog.care.report_actions import mark_condition, report_condition, report_unchanged
from catalog.care.wild_actions import record_wild_part
from catalog.care.work_actions import (
    call_off_treatment,
    finish_treatment,
    need_treatment,
    open_quarantine,
    release_quarantine,
    start_treatment,
)

__all__ = [
    "add_sample",
    "alter",
    "approve_cleaning",
    "call_off_treatment",
    "decide_sample",
    "decide_wear",
    "find_hazard",
    "finish_treatment",
    "hold_against_pests",
    "mark_condition",
    "need_treatment",
    "open_quarantine",
    "question_wear",
    "record_pack",
    "record_wild_part",
    "release_quarantine",
    "report_condition",
    "report_unchanged",
    "say_breakdown",
    "seen_no_change",
    "start_treatment",
    "undo_alteration",
]
