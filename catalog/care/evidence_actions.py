"""Saying that a piece carries on-screen breakdown, and approving by name that something of it is taken off."""

from datetime import date

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.calc.evidence import names_cleaning, needs_approval, refusal
from catalog.care.evidence_queries import told_of_one
from catalog.care.models import OnScreenBreakdown, Treatment
from catalog.core import history
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.locks import lock_rows
from catalog.pieces.models import Piece


@transaction.atomic
def say_breakdown(
    *, by: User, piece: Piece, state: str, where: str = "", said_on: date, said_by_name: str, source: str = ""
) -> OnScreenBreakdown:
    """Say whether the piece carries breakdown that was on screen. What was said before stays, but no longer counts.

    Raises Refused for "none" while a mark of the newest report says that it is part of the look.
    """
    require(by, Ability.DECIDE_WEAR)
    refuse_unless_past(said_on=said_on)
    lock_rows(Piece.objects.filter(pk=piece.pk))
    known = told_of_one(piece)
    if state == OnScreenBreakdown.State.NONE and known.marks:
        raise Refused(
            f"The newest report of {piece.number} has {known.marks[0]} as part of the look: write a new one first.",
            field="state",
        )
    last = OnScreenBreakdown.objects.select_for_update().filter(piece=piece, current=True).first()
    if last is not None:
        last.current = False
        keep(last, update_fields=["current"])
    row = OnScreenBreakdown(piece=piece, state=state, where=" ".join(where.split()), said_on=said_on)
    row.said_by_name = " ".join(said_by_name.split())
    keep(row)
    before = {"breakdown": last.state} if last else None
    after = {"breakdown": row.state} | ({"breakdown_where": row.where} if row.where else {})
    history.record(by, "breakdown noted", piece.subject, before=before, after=after, reason=source)
    return row


@transaction.atomic
def approve_cleaning(
    *, by: User, treatment: Treatment, approved_by_name: str, approved_on: date, approved_how_far: str
) -> Treatment:
    """Somebody approves by name that this is cleaned, and how far.

    Raises WrongState when the work has begun, is over or takes nothing off.
    """
    require(by, Ability.DECIDE_WEAR)
    refuse_unless_past(approved_on=approved_on)
    name = " ".join(approved_by_name.split())
    if not any(letter.isalpha() for letter in name):
        raise Refused("Write the name of whoever approves it.", field="approved_by_name")
    if not approved_how_far.strip():
        raise Refused("Say what may go and what stays.", field="approved_how_far")
    row = Treatment.objects.select_for_update(of=("self",)).select_related("piece").get(pk=treatment.pk)
    if row.state != Treatment.State.NEEDED:
        raise WrongState(f"“{row.what}” is {row.get_state_display()}: an approval comes before the work begins.")
    if not takes_something_off(row):
        raise WrongState(f"“{row.what}” takes nothing off: it needs no approval.")
    row.approved_by_name, row.approved_on = name, approved_on
    row.approved_how_far = " ".join(approved_how_far.split())
    keep(row)
    after = {"treatment": {"what": row.what}, "cleaning_approved": row.approved_how_far}
    history.record(by, "cleaning approved", row.piece.subject, after=after)
    return row


def takes_something_off(treatment: Treatment) -> bool:
    """Whether it was ticked, or its words say so by themselves (work noted before anybody asked has no tick)."""
    return treatment.cleaning or names_cleaning(treatment.what)


def refuse_unapproved(treatment: Treatment) -> bool:
    """Whether the work needs an approval; raises WrongState when it needs one and has none.

    The caller is about to begin it: the piece's row is held, so that nobody says anew meanwhile what it carries.
    """
    lock_rows(Piece.objects.filter(pk=treatment.piece_id))
    told = told_of_one(treatment.piece)
    needed = needs_approval(told, cleaning=takes_something_off(treatment))
    if needed and not treatment.approved_by_name:
        raise WrongState(refusal(treatment.piece.number, treatment.what, told))
    return needed
