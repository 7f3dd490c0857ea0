"""Holding a piece against pests in a way that its materials bear; its days are worked out, it is not free before."""

from datetime import date

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.apart_queries import open_pest_work
from catalog.care.calc.pest_hold import METHODS, Stuff, against, days_of, until
from catalog.care.models import Quarantine
from catalog.care.work_actions import need_treatment, open_quarantine, start_treatment
from catalog.core import history, house
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.locks import lock_rows
from catalog.pieces.models import Piece


def stuff_of(piece: Piece) -> Stuff:
    """What the calculation needs to know of a piece; two queries."""
    materials = tuple(piece.materials.order_by("name").values_list("name", "family"))
    return Stuff(materials, piece.weight_g, piece.packs.filter(removed_on=None).exists())


def house_days() -> int:
    """How long the house keeps apart what is only looked at."""
    return int(house.value("hold.days_after"))


@transaction.atomic
def hold_against_pests(*, by: User, piece: Piece, method: str, started_on: date) -> Quarantine:
    """Begin the hold: the work is under way, and the quarantine lasts at least as long as it.

    Raises Refused when the materials do not bear it, are not known, or the way is none; WrongState while other pest
    work on the piece is open.
    """
    require(by, Ability.DECIDE_WEAR)
    refuse_unless_past(started_on=started_on)
    chosen = METHODS.get(method)
    if chosen is None:
        raise Refused("Choose how it is held against pests.", field="method")
    lock_rows(Piece.objects.filter(pk=piece.pk))
    stuff = stuff_of(piece)
    if reasons := against(chosen, stuff):
        raise Refused(f"{piece.number} may not go through “{chosen.words}”: {'; '.join(reasons)}.", field="method")
    due = until(chosen, stuff, house_days(), started_on)
    if chosen.days is not None:
        under_way = open_pest_work().filter(piece=piece).first()
        if under_way is not None:
            raise WrongState(f"{piece.number} has pest work open: “{under_way.what}”. Finish it or call it off first.")
        days = days_of(chosen, stuff, house_days())
        work = need_treatment(by=by, piece=piece, what=chosen.words, days=days, day_kind="calendar", against_pests=True)
        start_treatment(by=by, treatment=work, started_on=started_on)
    return _kept_until(by, piece, started_on, due, chosen.words)


def _kept_until(by: User, piece: Piece, started_on: date, due: date, why: str) -> Quarantine:
    apart = Quarantine.objects.select_for_update().filter(piece=piece, released_on__isnull=True).first()
    if apart is None:
        return open_quarantine(by=by, piece=piece, opened_on=started_on, due_on=due, reason=why)
    if due > apart.due_on:
        before, apart.due_on = {"quarantine_due": apart.due_on}, due
        keep(apart)
        history.record(by, "quarantined", piece.subject, before=before, after={"quarantine_due": due}, reason=why)
    return apart
