"""Writing size sheets, exclusions, house bands and plans; forgetting sizes on their day.

History tells that a sheet was added, read or deleted, for "performer 7": never a size, never a name.
"""

from collections.abc import Collection, Mapping
from datetime import date, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import history, house
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused
from catalog.fitting.calc.body import POINT_WORDS, POINTS
from catalog.fitting.calc.body_bounds import impossible, impossible_together
from catalog.fitting.deadline_queries import order_by
from catalog.fitting.models import EaseBand, Exclusion, ExclusionRule, MakeOrder, Plan, PlanLine, SizeSheet, SizeValue
from catalog.fitting.queries import DryRun
from catalog.loans.actions import forget_pictures
from catalog.loans.models import Call, Wearer
from catalog.pieces.models import Slot

HOUSE = history.Subject("house", "rules")
# Height and weight have columns of their own.
TAPES = frozenset(POINTS) - {"height", "weight"}
# The longest the house may set under House rules.
MOST_DAYS_KEPT = 400


@transaction.atomic
def add_sheet(
    *,
    by: User,
    wearer: Wearer,
    layer: str,
    height_mm: int | None = None,
    weight_g: int | None = None,
    values: Mapping[str, int] | None = None,
    taken_on: date | None = None,
    taken_by_name: str = "",
    reference_shape: str = SizeSheet.Shape.EITHER,
    consent: bool = False,
    delete_on: date | None = None,
    guardian_consent: str = "",
) -> SizeSheet:
    """Keep a wearer's sizes of one layer until a day; an older sheet of the layer is replaced.

    Raises Refused for a minor without a guardian's consent, a taped sheet without consent, an unknown point, a size
    that nobody has, or days that cannot be.
    """
    require(by, Ability.FIT)
    if wearer.minor and not guardian_consent.strip():
        raise Refused("Under 18: note the guardian's consent, who gave it and when.", field="guardian_consent")
    if layer != SizeSheet.Layer.CARD and not consent:
        raise Refused("Ask the performer first: a taped sheet is kept with consent only.", field="consent")
    unknown = set(values or {}) - TAPES
    if unknown:
        raise Refused(f"“{sorted(unknown)[0]}” is no tape measure of a size sheet.")
    _check_sizes({**(values or {}), "height": height_mm, "weight": weight_g})
    _check_days(wearer.call, taken_on, delete_on)
    wearer.sheets.filter(layer=layer).delete()
    sheet = keep(
        SizeSheet(
            wearer=wearer,
            layer=layer,
            height_mm=height_mm,
            weight_g=weight_g,
            taken_on=taken_on,
            taken_by_name=taken_by_name,
            reference_shape=reference_shape,
            consent=consent,
            guardian_consent=guardian_consent,
            delete_on=delete_on or day_to_forget(wearer.call),
        )
    )
    for point, value in (values or {}).items():
        keep(SizeValue(sheet=sheet, point=point, value_mm=value))
    history.record(
        by, "size sheet added", wearer.call.subject, after={"performer": wearer.number, "sheet_layer": layer}
    )
    return sheet


def _check_sizes(values: Mapping[str, int | None]) -> None:
    """At least one size, and none that no tape or scale can read."""
    known = {point: value for point, value in values.items() if value is not None}
    if not known:
        raise Refused("Give at least one size; an empty sheet is none.", field="height")
    for point, value in known.items():
        if sentence := impossible(point, value, POINT_WORDS[point]):
            raise Refused(sentence, field=point if point in {"height", "weight"} else f"tape_{point}")
    if sentence := impossible_together(known.get("height"), known.get("weight")):
        raise Refused(sentence, field="weight")


def _check_days(call: Call, taken_on: date | None, delete_on: date | None) -> None:
    refuse_unless_past(taken_on=taken_on)
    if delete_on is not None and delete_on > call.back_on + timedelta(days=MOST_DAYS_KEPT):
        raise Refused(f"Sizes are kept at most {MOST_DAYS_KEPT} days after the return.", field="delete_on")


def day_to_forget(call: Call) -> date:
    """The day on which the sizes of a call are deleted, by the house's setting."""
    return call.back_on + timedelta(days=house.value("sizes.keep_days"))


@transaction.atomic
def set_exclusions(*, by: User, wearer: Wearer, codes: Collection[str]) -> None:
    """What a wearer must not wear, by the codes of the house's rules; no reason is asked or kept.

    History says nothing of it: a line would tell everybody who has one.
    """
    require(by, Ability.FIT)
    rules = {rule.code: rule for rule in ExclusionRule.objects.filter(code__in=list(codes))}
    for code in codes:
        if code not in rules:
            raise Refused(f"The house has no exclusion “{code}”.", field="exclusions")
    wearer.exclusions.exclude(rule__in=rules.values()).delete()
    for rule in rules.values():
        Exclusion.objects.get_or_create(wearer=wearer, rule=rule)


@transaction.atomic
def add_band(*, by: User, slot: Slot | None = None, kind: str = "", **facts: Any) -> EaseBand:
    """An ease band of a slot or of a kind.

    Facts: body_point, garment_point, min_ease, max_ease, good_min, good_max, uses_let_out, scale, source. A band of the
    same slot or kind and points is replaced.
    """
    require(by, Ability.HOUSE_RULES)
    if facts.get("body_point") not in POINTS:
        raise Refused(f"“{facts.get('body_point')}” is no point of a body.", field="body_point")
    EaseBand.objects.filter(
        slot=slot, kind=kind, body_point=facts["body_point"], garment_point=facts.get("garment_point", "")
    ).delete()
    band = keep(EaseBand(slot=slot, kind=kind, **facts))
    history.record(by, "ease band set", HOUSE, after=_band_facts(band))
    return band


@transaction.atomic
def remove_band(*, by: User, band: EaseBand) -> None:
    """Take an ease band off; the slot then falls back on its kind's bands, or on none."""
    require(by, Ability.HOUSE_RULES)
    before = _band_facts(band)
    band.delete()
    history.record(by, "ease band taken off", HOUSE, before=before)


def _band_facts(band: EaseBand) -> dict[str, Any]:
    facts = {"slot": _where(band), "band": str(band), "min_ease": band.min_ease, "max_ease": band.max_ease}
    return facts if band.good_min is None else facts | {"good_min": band.good_min, "good_max": band.good_max}


def _where(band: EaseBand) -> str:
    return f"{band.slot.role.code} {band.slot.code}" if band.slot is not None else band.kind


@transaction.atomic
def add_exclusion_rule(
    *,
    by: User,
    code: str,
    words: str,
    materials: Collection[str] = (),
    hazards: Collection[str] = (),
    kinds: Collection[str] = (),
    spared_kinds: Collection[str] = (),
) -> ExclusionRule:
    """What an exclusion rules out; a rule of the same code is replaced."""
    require(by, Ability.HOUSE_RULES)
    rule = ExclusionRule.objects.filter(code=code).first() or ExclusionRule(code=code)
    rule.words = words
    rule.materials, rule.hazards = sorted(materials), sorted(hazards)
    rule.kinds, rule.spared_kinds = sorted(kinds), sorted(spared_kinds)
    keep(rule)
    history.record(by, "exclusion rule set", HOUSE, after={"exclusion_rule": code})
    return rule


@transaction.atomic
def note_reading(*, by: User, call: Call, number: int) -> None:
    """Tell the history that size sheets of a call were read, and how many."""
    require(by, Ability.SEE_BODIES)
    history.record(by, "size sheets read", call.subject, after={"sheets": number})


@transaction.atomic
def forget_sizes(*, today: date, by: User | None = None, call: Call | None = None) -> dict[str, int]:
    """Delete the sheets whose day has come (or all of a call), with exclusions, pictures and names; how many by call.

    Afterwards the performer is a number. `by` None is the nightly command: a promise is kept without anybody's leave.
    """
    if by is not None:
        require(by, Ability.FIT)
    due = (
        SizeSheet.objects.filter(delete_on__lte=today) if call is None else SizeSheet.objects.filter(wearer__call=call)
    )
    counts: dict[Call, int] = {}
    emptied: set[int] = set()
    for sheet in due.select_related("wearer__call"):
        counts[sheet.wearer.call] = counts.get(sheet.wearer.call, 0) + 1
        emptied.add(sheet.wearer_id)
        sheet.delete()
    _forget_people(by, today, call, emptied)
    for of_call, number in counts.items():
        history.record(by, "size sheets deleted", of_call.subject, after={"sizes_deleted": number})
    return {of_call.reference: number for of_call, number in counts.items()}


def _forget_people(by: User | None, today: date, call: Call | None, emptied: set[int]) -> None:
    """Names, exclusions and pictures go with a performer's last sheet; on the house's day where there never was one."""
    past = Q(call__back_on__lte=today - timedelta(days=house.value("sizes.keep_days")))
    asked = Q(pk__in=emptied) | past
    if call is not None:
        asked |= Q(call=call)
    ids = list(Wearer.objects.filter(asked, sheets=None).values_list("pk", flat=True))
    Exclusion.objects.filter(wearer__in=ids).delete()
    forget_pictures(by=by, wearer_ids=ids)
    Wearer.objects.filter(pk__in=ids).exclude(name="").update(name="")


@transaction.atomic
def store_plan(*, by: User, run: DryRun) -> Plan:
    """Keep the plan of a dry run as the call's current one, with what must be made and by when. It names no size.

    Raises Refused when nobody can be dressed, and for a plan that rests on a supposition.
    """
    require(by, Ability.FIT)
    if not run.plan.assignments:
        raise Refused("Nobody can be dressed, so there is no plan to keep.")
    if run.question.found or run.question.released:
        supposed = ", ".join(sorted(run.question.found | run.question.released))
        raise Refused(f"This plan supposes {supposed}. Keep the plan when it has come true.")
    locked = {(lock.wearer, lock.slot) for lock in run.problem.locks}
    Plan.objects.filter(call=run.call, current=True).update(current=False)
    plan = keep(
        Plan(
            call=run.call,
            made_by=by,
            with_making=run.problem.with_making,
            asked=run.asked_total,
            dressed=run.plan.total,
            whole_sets=sum(run.plan.whole_sets.values()),
            gap=run.plan.gap,
        )
    )
    pieces = {row.piece.number: row.piece for row in run.stock}
    for assigned in run.plan.assignments:
        slot = run.slots[assigned.role, assigned.slot]
        wearer, piece = run.wearers[assigned.wearer], pieces.get(assigned.piece or "")
        is_locked = (assigned.wearer, assigned.slot) in locked
        role = run.roles[assigned.role]
        keep(PlanLine(plan=plan, wearer=wearer, role=role, slot=slot, piece=piece, locked=is_locked))
        if piece is None:
            keep(
                MakeOrder(
                    plan=plan,
                    wearer=wearer,
                    slot=slot,
                    working_days=slot.make_days,
                    order_by=order_by(run.call, slot, run.question.closed),
                )
            )
    history.record(
        by,
        "plan kept",
        run.call.subject,
        after={"dressed": plan.dressed, "made": len(run.plan.make), "count": plan.asked},
    )
    return plan


@transaction.atomic
def lock_performer(*, by: User, plan: Plan, number: str, locked: bool) -> None:
    """Lock, or open again, what the kept plan gives a performer: the next dry run keeps what is locked."""
    require(by, Ability.FIT)
    lines = PlanLine.objects.filter(plan=plan, wearer__number__iexact=number)
    if not plan.current or not lines.update(locked=locked):
        raise Refused(f"The plan in force dresses no performer {number}.")
    history.record(
        by, "locked" if locked else "unlocked", plan.call.subject, after={"performer": number, "locked": locked}
    )
