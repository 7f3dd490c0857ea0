"""What somebody decided or found: wear, hazards, power packs. Reports stand in report_actions.py."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.models import BatteryPack, HazardFinding, WearDecision
from catalog.core import history
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused
from catalog.core.locks import lock_rows
from catalog.pieces.models import Piece


@transaction.atomic
def decide_wear(
    *,
    by: User,
    piece: Piece,
    decision: str,
    limits: str = "",
    minutes_limit: int | None = None,
    rest_minutes: int | None = None,
    no_close_up: bool = False,
    repair: str = "",
    repair_days: int | None = None,
    repair_day_kind: str = "working",
    decided_on: date,
    decided_by_name: str,
    source: str = "",
) -> WearDecision:
    """Say whether the piece may be worn. The decision before it stays, but no longer counts.

    It answers the question put to the one before, unless it was taken on an earlier day: then nobody has looked since.
    """
    require(by, Ability.DECIDE_WEAR)
    refuse_unless_past(decided_on=decided_on)
    lock_rows(Piece.objects.filter(pk=piece.pk))
    last = WearDecision.objects.select_for_update().filter(piece=piece, current=True).first()
    if last:
        last.current = False
        keep(last, update_fields=["current"])
    row = WearDecision(piece=piece, decision=decision, limits=limits.strip(), minutes_limit=minutes_limit)
    row.rest_minutes = rest_minutes
    row.no_close_up, row.repair, row.repair_days, row.repair_day_kind = (
        no_close_up,
        repair.strip(),
        repair_days,
        repair_day_kind,
    )
    row.decided_on, row.decided_by_name, row.decided_by = decided_on, decided_by_name.strip(), by
    if last and last.questioned_on and decided_on < last.questioned_on:
        row.questioned_on, row.questioned_why = last.questioned_on, last.questioned_why
    keep(row)
    was, now = history.changed(_wear_facts(last) if last else {}, _wear_facts(row))
    history.record(by, "wear decided", piece.subject, before=was if last else None, after=now, reason=source)
    return row


@transaction.atomic
def question_wear(*, by: User, piece: Piece, what: str, why: str, on: date) -> WearDecision | None:
    """What happened to the piece (“came home changed”) puts its decision in question: it is not worn until somebody
    has looked and decided anew. None when nobody has decided yet, which is a no already.
    """
    require(by, Ability.MOVE)
    refuse_unless_past(questioned_on=on)
    lock_rows(Piece.objects.filter(pk=piece.pk))
    row = WearDecision.objects.select_for_update().filter(piece=piece, current=True).first()
    if row is None:
        return None
    reason = " ".join(why.split())
    row.questioned_on, row.questioned_why = on, f"{what}: {reason}" if reason else what
    keep(row, update_fields=["questioned_on", "questioned_why"])
    before, after = {"wear": row.decision}, {"wear": "to be decided anew"}
    history.record(by, "wear questioned", piece.subject, before=before, after=after, reason=row.questioned_why)
    return row


@transaction.atomic
def find_hazard(
    *,
    by: User,
    piece: Piece,
    hazard: str,
    state: str,
    note: str = "",
    found_on: date,
    found_by_name: str,
    source: str = "",
) -> HazardFinding:
    """What was found about one hazard: suspected, confirmed, untested, or cleared by a test named in the note.

    Raises Refused for a clearing without a word on how it was tested: an open question must not vanish by a click.
    """
    require(by, Ability.DECIDE_WEAR)
    refuse_unless_past(found_on=found_on)
    code = "_".join(hazard.lower().split())
    if state == HazardFinding.State.CLEARED and not note.strip():
        raise Refused("Say how it was tested and by whom, for example “XRF, five points, no mercury”.", field="note")
    last = HazardFinding.objects.select_for_update().filter(piece=piece, hazard=code, current=True).first()
    if last:
        last.current = False
        keep(last, update_fields=["current"])
    row = HazardFinding(piece=piece, hazard=code, state=state, note=note.strip(), found_on=found_on)
    row.found_by_name = found_by_name.strip()
    keep(row)
    before = {"hazard": code, "hazard_state": last.state} if last else None
    history.record(
        by,
        "hazard noted",
        piece.subject,
        before=before,
        after={"hazard": code, "hazard_state": state},
        reason=source or row.note,
    )
    return row


@transaction.atomic
def record_pack(
    *,
    by: User,
    piece: Piece,
    chemistry: str = BatteryPack.Chemistry.UNKNOWN,
    energy_wh: Decimal | float | None = None,
    state: str = BatteryPack.State.UNKNOWN,
    placed: str = BatteryPack.Placed.UNKNOWN,
    lithium_g: Decimal | float | None = None,
    charge_percent: int | None = None,
    seen_on: date | None = None,
    pack: BatteryPack | None = None,
    removed_on: date | None = None,
    source: str = "",
) -> BatteryPack:
    """A power pack in or with the piece; with `pack`, the present facts of that one. Unknown stays unknown."""
    require(by, Ability.DECIDE_WEAR)
    refuse_unless_past(seen_on=seen_on, removed_on=removed_on)
    row = BatteryPack(piece=piece) if pack is None else BatteryPack.objects.select_for_update().get(pk=pack.pk)
    if row.piece_id != piece.pk:
        raise Refused("This pack belongs to another piece.")
    before = None if pack is None else _pack_facts(row)
    row.chemistry, row.state, row.placed = chemistry, state, placed
    row.energy_wh = None if energy_wh is None else Decimal(str(energy_wh))
    row.lithium_g = None if lithium_g is None else Decimal(str(lithium_g))
    row.charge_percent, row.seen_on, row.removed_on = charge_percent, seen_on, removed_on
    keep(row)
    verb = "pack removed" if removed_on else "pack noted"
    history.record(by, verb, piece.subject, before=before, after=_pack_facts(row), reason=source)
    return row


def _wear_facts(row: WearDecision) -> dict[str, Any]:
    return {
        "wear": row.decision,
        "limits": row.limits,
        "minutes_limit": row.minutes_limit,
        "rest_minutes": row.rest_minutes,
        "no_close_up": row.no_close_up,
        "repair": row.repair,
        "repair_days": row.repair_days,
    }


def _pack_facts(row: BatteryPack) -> dict[str, Any]:
    facts = {"chemistry": row.chemistry, "placed": row.placed, "charge_percent": row.charge_percent}
    facts["energy_wh"] = None if row.energy_wh is None else str(row.energy_wh)
    return {"pack": {key: value for key, value in facts.items() if value is not None}, "pack_state": row.state}
