"""What is done to a piece: treatments and quarantine; alterations stand in alteration_actions.py."""

from collections.abc import Collection
from datetime import date
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.apart_queries import as_pest_works, refuse_pest_work
from catalog.care.calc.apart import names_pest_work
from catalog.care.calc.evidence import names_cleaning, needs_approval
from catalog.care.evidence_actions import refuse_unapproved, takes_something_off
from catalog.care.evidence_queries import told_of_one
from catalog.care.look_actions import brought_to_look, refuse_unsampled
from catalog.care.models import Quarantine, Treatment
from catalog.core import history
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.pieces.models import Look, Piece


@transaction.atomic
def need_treatment(
    *,
    by: User,
    piece: Piece,
    what: str,
    days: int | None = None,
    day_kind: str = "working",
    against_pests: bool = False,
    cleaning: bool = False,
    to_look: Look | None = None,
    source: str = "",
) -> Treatment:
    """Note work that the piece needs and how long it takes. Words that name pest work or cleaning make it so.

    While work against pests is open the piece may not be pulled, sent out or released from quarantine. Cleaning of
    what was on screen, or may have been, does not begin before somebody approved it by name; breakdown `to_look` not
    before a sample of the look is approved, and when it is done the piece is in that look.
    """
    require(by, Ability.DECIDE_WEAR)
    if to_look is not None and to_look.production_id != piece.production_id:
        raise Refused(f"The look {to_look.name} is not of {piece.number}'s production.")
    row = Treatment(piece=piece, what=" ".join(what.split()), days=days, day_kind=day_kind)
    row.against_pests = against_pests or names_pest_work(row.what)
    row.to_look = to_look
    if to_look is not None and piece.treatments.filter(to_look=to_look, state__in=Treatment.OPEN).exists():
        raise WrongState(f"The breakdown of {piece.number} to the look {to_look.name} is ordered already.")
    row.cleaning = cleaning or names_cleaning(row.what)
    row.needs_approval = row.cleaning and needs_approval(told_of_one(piece), cleaning=True)
    keep(row)
    facts = _treatment_facts(row) | ({"against_pests": True} if row.against_pests else {})
    facts |= {"cleaning": True} if row.cleaning else {}
    history.record(by, "treatment needed", piece.subject, after=facts, reason=source)
    return row


@transaction.atomic
def start_treatment(*, by: User, treatment: Treatment, started_on: date, source: str = "") -> Treatment:
    """The work begins. Raises WrongState when it is under way or done already, and for cleaning nobody approved."""
    require(by, Ability.DECIDE_WEAR)
    treatment = Treatment.objects.select_related("piece", "to_look").get(pk=treatment.pk)
    if treatment.state == Treatment.State.NEEDED and treatment.to_look is not None:
        refuse_unsampled(treatment.to_look)
    if treatment.state == Treatment.State.NEEDED and takes_something_off(treatment):
        treatment.needs_approval = refuse_unapproved(treatment)
        keep(treatment, update_fields=["needs_approval"])
    return _go_on(by, treatment, (Treatment.State.NEEDED,), Treatment.State.STARTED, source, started_on=started_on)


@transaction.atomic
def finish_treatment(*, by: User, treatment: Treatment, done_on: date, source: str = "") -> Treatment:
    """The work is done. Raises WrongState when it was not started, Refused for pest work before its days are served."""
    require(by, Ability.DECIDE_WEAR)
    _refuse_unserved(treatment, done_on)
    row = _go_on(by, treatment, (Treatment.State.STARTED,), Treatment.State.DONE, source, done_on=done_on)
    if row.to_look is not None:
        brought_to_look(by, row, row.to_look, done_on)
    return row


@transaction.atomic
def call_off_treatment(*, by: User, treatment: Treatment, reason: str) -> Treatment:
    """The work is not done after all, for a reason. Raises WrongState when it is done or called off already."""
    require(by, Ability.DECIDE_WEAR)
    if not reason.strip():
        raise Refused("Say why the work is called off.", field="reason")
    return _go_on(by, treatment, Treatment.OPEN, Treatment.State.DROPPED, " ".join(reason.split()))


@transaction.atomic
def open_quarantine(
    *, by: User, piece: Piece, opened_on: date, due_on: date, reason: str, source: str = ""
) -> Quarantine:
    """Keep the piece apart until it is checked. Raises Refused when it is in quarantine already."""
    require(by, Ability.MOVE)
    refuse_unless_past(opened_on=opened_on)
    if piece.quarantines.filter(released_on__isnull=True).exists():
        raise Refused(f"{piece.number} is in quarantine already.")
    row = keep(Quarantine(piece=piece, opened_on=opened_on, due_on=due_on, reason=" ".join(reason.split())))
    facts = {"quarantine": "open", "quarantine_due": due_on}
    history.record(by, "quarantined", piece.subject, after=facts, reason=source or row.reason)
    return row


@transaction.atomic
def release_quarantine(
    *, by: User, piece: Piece, released_on: date, findings: str = "", source: str = ""
) -> Quarantine:
    """The piece is checked and may go back among the others.

    Raises WrongState when it is not in quarantine, and while pest work on it is open.
    """
    require(by, Ability.PUT_AWAY)
    refuse_unless_past(released_on=released_on)
    row = Quarantine.objects.select_for_update().filter(piece=piece, released_on__isnull=True).first()
    if row is None:
        raise WrongState(f"{piece.number} is not in quarantine.")
    refuse_pest_work(piece, "released from quarantine")
    row.released_on, row.findings = released_on, " ".join(findings.split())
    keep(row)
    history.record(
        by,
        "released from quarantine",
        piece.subject,
        before={"quarantine": "open", "quarantine_due": row.due_on},
        after={"quarantine": "released"},
        reason=source or row.findings,
    )
    return row


def _refuse_unserved(treatment: Treatment, done_on: date) -> None:
    """Work against pests only helps when it runs to its end; stopped before, it is called off and says so."""
    due = as_pest_works([treatment])[0].due if treatment.against_pests else None
    if due is not None and done_on < due:
        raise Refused(
            f"“{treatment.what}” is against pests and runs until {due:%-d %b %Y}: it is not done before. "
            "If it was stopped, call it off with a reason."
        )


def _go_on(by: User, treatment: Treatment, old: Collection[str], new: str, source: str, **dates: date) -> Treatment:
    require(by, Ability.DECIDE_WEAR)
    refuse_unless_past(**dates)
    row = Treatment.objects.select_for_update(of=("self",)).select_related("piece").get(pk=treatment.pk)
    if row.state not in old:
        raise WrongState(f"“{row.what}” is {row.get_state_display()}.")
    before = _treatment_facts(row)
    row.state = new
    for field, day in dates.items():
        setattr(row, field, day)
    keep(row)
    verb = f"treatment {row.get_state_display()}"
    history.record(by, verb, row.piece.subject, before=before, after=_treatment_facts(row), reason=source)
    return row


def _treatment_facts(row: Treatment) -> dict[str, Any]:
    return {"treatment": {"what": row.what, "days": row.days}, "treatment_state": row.state}
