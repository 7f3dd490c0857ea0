"""Who may do what: the one table. Actions ask `require`, pages are let through by the address table below.

An address that nobody listed is refused to everybody (see middleware.py), so forgetting one is safe and shows.
"""

from enum import Enum

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser

from catalog.access.duties import EVERY_DUTY, STAFF, Duty, duties_of
from catalog.core.errors import NotAllowed

_A, _W, _P, _S = Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.PRODUCTION, Duty.SET_COSTUMER


class Ability(Enum):
    """An act, and the duties that may do it."""

    LOOK = ("look at pieces, sets and places", EVERY_DUTY)
    SEE_STAFF = ("see staff pages", STAFF)
    RECORD = ("record and correct pieces", frozenset({_A}))
    SEE_VALUES = ("see values", frozenset({_A, _P}))
    DECIDE_WEAR = ("report condition and decide on wear", frozenset({_A}))
    ALTER = ("alter pieces and undo alterations", frozenset({_A, _W}))
    MOVE = ("move pieces and trunks", frozenset({_A, _W, _S}))
    TAKE_STOCK = ("start and close stocktakes, and settle what came of them", frozenset({_A}))
    ARRANGE_STORE = ("add and change places", frozenset({_A}))
    CALL = ("take and change calls", frozenset({_A, _W, _P}))
    SEE_CALLS = ("see calls", STAFF)
    SEE_BODIES = ("read size sheets", frozenset({_W}))
    SEE_OUTFITS = ("see who wears which piece", frozenset({_A, _W, _S}))
    FIT = ("plan fittings", frozenset({_W}))
    DRY_RUN = ("ask what is possible", frozenset({_A, _W, _P}))
    HOLD = ("hold pieces", frozenset({_A, _W, _P}))
    PULL = ("pull pieces", frozenset({_A, _W, _S}))
    SIGN_OUT = ("sign pieces out and in", frozenset({_A, _W, _S}))
    PACK = ("pack crates", frozenset({_A, _W, _S}))
    PUT_AWAY = ("release from quarantine and put away", frozenset({_A}))
    RESCUE = ("print rescue lists", frozenset({_A}))
    CUSTODY = ("print custody statements", frozenset({_A, _P}))
    COSTS = ("see and note the costs of loans", frozenset({_A, _P}))
    SEE_TRAVEL = ("see what may travel", frozenset({_A, _W, _P}))
    PLAN_HEAT = ("plan for the heat at the place", frozenset({_A, _W, _P}))
    IMPORT = ("load tables", frozenset({_A}))
    EXPORT = ("take lists away", STAFF)
    HOUSE_RULES = ("change the house rules", frozenset({_A}))

    def __init__(self, words: str, duties: frozenset[Duty]) -> None:
        self.words = words
        self.duties = duties


# Everybody, signed in or not.
PUBLIC = "public"
# Whoever is signed in, whatever the duty.
SIGNED_IN = "signed in"

# Address name -> the ability it takes. Names of addresses may point upward; imports may not.
ADDRESSES: dict[str, Ability | str] = {
    "access:sign_in": PUBLIC,
    "access:sign_out": SIGNED_IN,
    "access:units": SIGNED_IN,
    "desk:today": SIGNED_IN,
    "desk:piece": Ability.LOOK,
    "desk:handled": Ability.SEE_STAFF,
    "desk:custody": Ability.CUSTODY,
    "desk:house_rules": Ability.HOUSE_RULES,
    "desk:values": Ability.SEE_VALUES,
    "desk:values_csv": Ability.SEE_VALUES,
    "desk:call_values": Ability.SEE_VALUES,
    "desk:call_values_csv": Ability.SEE_VALUES,
    "desk:due": Ability.SEE_STAFF,
    "desk:due_csv": Ability.EXPORT,
    "desk:looked": Ability.DECIDE_WEAR,
    "desk:looked_send": Ability.DECIDE_WEAR,
    "desk:call_values_pdf": Ability.SEE_VALUES,
    "desk:loan_values": Ability.SEE_VALUES,
    "desk:loan_values_csv": Ability.SEE_VALUES,
    "desk:wrong_place": Ability.SEE_STAFF,
    "desk:wrong_place_csv": Ability.EXPORT,
    "desk:put_right": Ability.MOVE,
    "desk:first_things": Ability.DRY_RUN,
    "desk:call_travel": Ability.SEE_TRAVEL,
    "desk:call_travel_json": Ability.SEE_TRAVEL,
    "desk:keep_call_travel": Ability.SEE_TRAVEL,
    "desk:call_heat": Ability.PLAN_HEAT,
    "desk:heat_objects": Ability.PLAN_HEAT,
    "desk:heat_weather": Ability.PLAN_HEAT,
    "desk:heat_hour_out": Ability.PLAN_HEAT,
    "desk:heat_dress": Ability.PLAN_HEAT,
    "shipping:rules": Ability.SEE_STAFF,
    "shipping:crate_kinds": Ability.SEE_STAFF,
    "shipping:add_crate_kind": Ability.ARRANGE_STORE,
    "shipping:edit_crate_kind": Ability.ARRANGE_STORE,
    "pack:pack": Ability.SEE_CALLS,
    "pack:take": Ability.PACK,
    "pack:put": Ability.PACK,
    "pack:crate": Ability.PACK,
    "pack:travel": Ability.PACK,
    "pack:labels": Ability.RECORD,
    "pack:list_pdf": Ability.SEE_CALLS,
    "pack:list_csv": Ability.EXPORT,
    "desk:kept_travel": Ability.SEE_TRAVEL,
    "desk:route": Ability.SEE_TRAVEL,
    "shipping:ask": Ability.SEE_TRAVEL,
    "shipping:add_rule": Ability.HOUSE_RULES,
    "shipping:change_rule": Ability.HOUSE_RULES,
    "shipping:drop_rule": Ability.HOUSE_RULES,
    "care:wild_part": Ability.DECIDE_WEAR,
    "finding:find": Ability.LOOK,
    "finding:find_csv": Ability.EXPORT,
    "exchange:import": Ability.IMPORT,
    "exchange:import_roster": Ability.FIT,
    "exchange:import_weather": Ability.PLAN_HEAT,
    "exchange:columns": Ability.SEE_STAFF,
    "exchange:empty_table": Ability.SEE_STAFF,
    "storage:places": Ability.LOOK,
    "storage:place": Ability.LOOK,
    "storage:add_place": Ability.ARRANGE_STORE,
    "storage:edit_place": Ability.ARRANGE_STORE,
    "storage:put_here": Ability.MOVE,
    "storage:rescue_list": Ability.RESCUE,
    "storage:receive": Ability.RECORD,
    "storage:received": Ability.SEE_STAFF,
    "storage:unpack": Ability.RECORD,
    "storage:unpack_known": Ability.RECORD,
    "storage:all_listed": Ability.RECORD,
    "storage:release_trunk": Ability.PUT_AWAY,
    "storage:move_piece": Ability.MOVE,
    "storage:move_container": Ability.MOVE,
    "storage:missing": Ability.SEE_STAFF,
    "storage:missing_file": Ability.SEE_STAFF,
    "storage:log_search": Ability.MOVE,
    "storage:found": Ability.SEE_STAFF,
    "storage:add_found": Ability.MOVE,
    "storage:found_thing": Ability.SEE_STAFF,
    "storage:measure_found": Ability.MOVE,
    "storage:picture_found": Ability.MOVE,
    "storage:found_picture": Ability.SEE_STAFF,
    "storage:know_again": Ability.RECORD,
    "storage:know_part_again": Ability.RECORD,
    "storage:move_found": Ability.MOVE,
    "storage:mark_piece_missing": Ability.MOVE,
    "storage:mark_piece_found": Ability.MOVE,
    "storage:mark_container_missing": Ability.MOVE,
    "storage:mark_container_found": Ability.MOVE,
    "storage:labels": Ability.SEE_STAFF,
    "storage:issue_label": Ability.RECORD,
    "storage:replace_label": Ability.RECORD,
    "storage:blanks": Ability.RECORD,
    "storage:bind": Ability.RECORD,
    "storage:label_pdf": Ability.SEE_STAFF,
    "storage:blanks_pdf": Ability.RECORD,
    "storage:place_labels": Ability.RECORD,
    "storage:place_labels_pdf": Ability.RECORD,
    "stocktake:stocktakes": Ability.SEE_STAFF,
    "stocktake:start": Ability.TAKE_STOCK,
    "stocktake:coverage": Ability.SEE_STAFF,
    "stocktake:stocktake": Ability.SEE_STAFF,
    "stocktake:count": Ability.MOVE,
    "stocktake:count_send": Ability.MOVE,
    "stocktake:unlabelled": Ability.MOVE,
    "stocktake:take_back": Ability.MOVE,
    "stocktake:counted": Ability.MOVE,
    "stocktake:close": Ability.TAKE_STOCK,
    "stocktake:settle": Ability.TAKE_STOCK,
    "stocktake:settle_as_found": Ability.TAKE_STOCK,
    "desk:scan": SIGNED_IN,
    "desk:scan_decode": SIGNED_IN,
    "desk:scan_ready": SIGNED_IN,
    "desk:scan_put": Ability.MOVE,
    "desk:scan_undo": Ability.MOVE,
    "desk:scan_look": Ability.MOVE,
    "desk:scan_send": Ability.MOVE,
    "desk:scan_shell": Ability.MOVE,
    "desk:scan_worker": Ability.MOVE,
    "desk:scan_kept": Ability.MOVE,
    "desk:scan_decide": Ability.MOVE,
    "desk:decide_act": Ability.MOVE,
    "loans:calls": Ability.SEE_CALLS,
    "loans:take_call": Ability.CALL,
    "loans:edit_call": Ability.CALL,
    "loans:needs": Ability.CALL,
    "loans:wearers": Ability.SEE_CALLS,
    "loans:edit_wearer": Ability.CALL,
    "loans:remove_wearer": Ability.CALL,
    "loans:close_call": Ability.CALL,
    "loans:holds": Ability.SEE_CALLS,
    "loans:make_hold": Ability.HOLD,
    "loans:along_time": Ability.SEE_CALLS,
    "loans:hold": Ability.SEE_CALLS,
    "loans:firm_up": Ability.HOLD,
    "loans:release": Ability.HOLD,
    "loans:loans": Ability.SEE_CALLS,
    "loans:loan": Ability.SEE_CALLS,
    "loans:loan_list": Ability.SEE_CALLS,
    "loans:pull": Ability.PULL,
    "loans:gap_cards": Ability.PULL,
    "loans:papers": Ability.SEE_CALLS,
    "loans:hold_note": Ability.SEE_CALLS,
    "loans:agreement": Ability.SEE_VALUES,
    "loans:out_report": Ability.SEE_CALLS,
    "loans:in_report": Ability.SEE_CALLS,
    "loans:sign_out_sheet": Ability.SEE_OUTFITS,
    "loans:sign_out_production": Ability.SEE_CALLS,
    "loans:count_back_sheet": Ability.SEE_OUTFITS,
    "loans:count_back_table": Ability.SEE_OUTFITS,
    "loans:loss_list": Ability.SEE_VALUES,
    "loans:loss_csv": Ability.SEE_VALUES,
    "loans:costs": Ability.COSTS,
    "loans:costs_csv": Ability.COSTS,
    "loans:strike_cost": Ability.COSTS,
    "desk:loan_report": Ability.SEE_VALUES,
    # It names values too: both abilities have the same duties, and a test holds them together.
    "desk:insurer_file": Ability.CUSTODY,
    "desk:data_kept": Ability.SEE_CALLS,
    "desk:data_kept_pdf": Ability.SEE_CALLS,
    "desk:pull_paper": Ability.PULL,
    "desk:pull_csv": Ability.PULL,
    "loans:put_back": Ability.PULL,
    "loans:send": Ability.PULL,
    "loans:call_off": Ability.PULL,
    "loans:on_set": Ability.SIGN_OUT,
    "loans:count_back": Ability.SIGN_OUT,
    "loans:note_scene": Ability.SIGN_OUT,
    "loans:how_worn": Ability.SEE_OUTFITS,
    "loans:scene_picture": Ability.SEE_OUTFITS,
    "loans:set_shell": Ability.SIGN_OUT,
    "loans:set_worker": Ability.SIGN_OUT,
    "loans:set_send": Ability.SIGN_OUT,
    "loans:on_set_performer": Ability.SIGN_OUT,
    "loans:return": Ability.SIGN_OUT,
    "loans:not_ours": Ability.SIGN_OUT,
    "loans:hand_over": Ability.SIGN_OUT,
    "loans:unlisted_picture": Ability.SIGN_OUT,
    "loans:not_back": Ability.SIGN_OUT,
    "loans:compare": Ability.SIGN_OUT,
    "loans:condition": Ability.SEE_CALLS,
    "loans:condition_piece": Ability.DECIDE_WEAR,
    "loans:sign_condition": Ability.DECIDE_WEAR,
    "loans:put_away": Ability.PUT_AWAY,
    "loans:part_home": Ability.SIGN_OUT,
    "loans:close": Ability.PUT_AWAY,
    "fitting:sets": Ability.LOOK,
    "fitting:set_sheet": Ability.LOOK,
    "fitting:quick_fit": Ability.DRY_RUN,
    "fitting:fitting_list": Ability.FIT,
    "fitting:fitting_list_csv": Ability.FIT,
    "fitting:worn_loads": Ability.SEE_BODIES,
    "fitting:what_is_short": Ability.SEE_BODIES,
    "fitting:other_plans": Ability.FIT,
    "fitting:who": Ability.DRY_RUN,
    "fitting:who_call": Ability.DRY_RUN,
    "fitting:sheets": Ability.SEE_BODIES,
    "fitting:sheet_edit": Ability.SEE_BODIES,
    "fitting:sheets_kept": Ability.SEE_BODIES,
    "fitting:forget": Ability.FIT,
    "fitting:dry_run": Ability.DRY_RUN,
    "fitting:side_by_side": Ability.DRY_RUN,
    "fitting:why_not": Ability.SEE_BODIES,
    "fitting:take_over": Ability.SEE_BODIES,
    "fitting:keep_plan": Ability.FIT,
    "fitting:plan": Ability.SEE_CALLS,
    "fitting:plan_csv": Ability.SEE_CALLS,
    "fitting:plan_json": Ability.SEE_CALLS,
    "fitting:lock": Ability.FIT,
    "fitting:bands": Ability.HOUSE_RULES,
    "fitting:remove_band": Ability.HOUSE_RULES,
    "fitting:exclusion_rules": Ability.HOUSE_RULES,
    "desk:call": Ability.SEE_CALLS,
    "desk:hold_call": Ability.HOLD,
    "desk:start_loan": Ability.PULL,
    "desk:pull": Ability.PULL,
    "desk:pull_send": Ability.PULL,
    "desk:label_target": PUBLIC,
    "desk:label_target_printed": PUBLIC,
    "pieces:picture": Ability.LOOK,
    "pieces:productions": Ability.LOOK,
    "pieces:production": Ability.LOOK,
    "pieces:add_production": Ability.RECORD,
    "pieces:edit_production": Ability.RECORD,
    "pieces:add_role": Ability.RECORD,
    "pieces:add_look": Ability.RECORD,
    "pieces:add_slot": Ability.RECORD,
    "pieces:add_set": Ability.RECORD,
    "pieces:edit": Ability.RECORD,
    "pieces:measure": Ability.RECORD,
    "pieces:pictures": Ability.RECORD,
    "pieces:change_picture": Ability.RECORD,
    "pieces:parts": Ability.RECORD,
    "pieces:matches": Ability.RECORD,
    "pieces:value": Ability.SEE_VALUES,
    "care:report": Ability.DECIDE_WEAR,
    "care:reported": Ability.SEE_STAFF,
    "care:decide": Ability.DECIDE_WEAR,
    "care:hazard": Ability.DECIDE_WEAR,
    "care:pack": Ability.DECIDE_WEAR,
    "care:treatment": Ability.DECIDE_WEAR,
    "care:move_treatment": Ability.DECIDE_WEAR,
    "care:call_off_treatment": Ability.DECIDE_WEAR,
    "care:approve_cleaning": Ability.DECIDE_WEAR,
    "care:breakdown": Ability.DECIDE_WEAR,
    "care:dies_first": Ability.SEE_STAFF,
    "care:dies_first_csv": Ability.EXPORT,
    "care:look": Ability.SEE_STAFF,
    "care:add_sample": Ability.ALTER,
    "care:decide_sample": Ability.ALTER,
    "care:order_breakdown": Ability.DECIDE_WEAR,
    "care:not_washed": Ability.SEE_STAFF,
    "care:not_washed_csv": Ability.EXPORT,
    "care:pest_hold": Ability.DECIDE_WEAR,
    "care:quarantine": Ability.MOVE,
    "care:alteration": Ability.ALTER,
    "care:garment_card": Ability.SEE_OUTFITS,
    "care:garment_card_pdf": Ability.SEE_OUTFITS,
    "care:undo_alteration": Ability.ALTER,
    "care:treatments": Ability.SEE_STAFF,
    "care:untested": Ability.SEE_STAFF,
    "desk:record": Ability.RECORD,
}


def can(user: AbstractBaseUser | AnonymousUser, ability: Ability) -> bool:
    """Whether one of the person's duties includes the act."""
    return bool(duties_of(user) & ability.duties)


def require(user: AbstractBaseUser | AnonymousUser, ability: Ability) -> None:
    """Raise NotAllowed with a sentence unless the person may do the act."""
    if not can(user, ability):
        who = " or ".join(sorted(duty.value for duty in ability.duties))
        raise NotAllowed(f"To {ability.words} is for the {who}.")
