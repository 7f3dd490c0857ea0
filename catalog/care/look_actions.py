"""Bringing pieces to a look: samples tried and decided, and the breakdown that waits for an approved one."""

from datetime import date

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.evidence_actions import say_breakdown
from catalog.care.models import LookSample, OnScreenBreakdown, Treatment
from catalog.core import history
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.locks import alone
from catalog.pieces.actions import edit_piece
from catalog.pieces.models import Look

_R = LookSample.Result


@transaction.atomic
def add_sample(*, by: User, look: Look, what: str, made_on: date, made_by_name: str) -> LookSample:
    """A new try at the breakdown of the look. Raises WrongState while the one before waits for a decision."""
    require(by, Ability.ALTER)
    refuse_unless_past(made_on=made_on)
    alone(f"samples of look {look.pk}")
    last = look.samples.order_by("-number").first()
    if last is not None and last.result == _R.WAITING:
        raise WrongState(f"Sample {last.number} of the look {look.name} waits for a decision: decide it first.")
    row = LookSample(look=look, number=(last.number if last else 0) + 1, what=" ".join(what.split()), made_on=made_on)
    row.made_by_name = " ".join(made_by_name.split())
    keep(row)
    history.record(
        by, "sample made", look.production.subject, after={"sample": f"{look.name} {row.number}: {row.what}"}
    )
    return row


@transaction.atomic
def decide_sample(
    *, by: User, sample: LookSample, result: str, decided_on: date, decided_by_name: str, why: str = ""
) -> LookSample:
    """Approve or refuse a sample, by name. What was decided stays; a new try is a new sample."""
    require(by, Ability.ALTER)
    refuse_unless_past(decided_on=decided_on)
    row = LookSample.objects.select_for_update(of=("self",)).select_related("look__production").get(pk=sample.pk)
    if row.result != _R.WAITING:
        raise WrongState(f"Sample {row.number} of the look {row.look.name} is {row.get_result_display()} already.")
    if result not in {_R.APPROVED, _R.REFUSED}:
        raise Refused("Choose whether it is approved or refused.", field="result")
    if result == _R.REFUSED and not why.strip():
        raise Refused("Say why it is refused: the next try is made from that.", field="why")
    row.result, row.decided_on, row.why = result, decided_on, " ".join(why.split())
    row.decided_by_name = " ".join(decided_by_name.split())
    keep(row)
    after = {"sample": f"{row.look.name} {row.number}", "sample_result": row.result}
    history.record(by, "sample decided", row.look.production.subject, after=after | {"sample_why": row.why})
    return row


def refuse_unsampled(look: Look) -> None:
    """Raise WrongState unless the newest decided sample of the look is approved."""
    last = look.samples.exclude(result=_R.WAITING).order_by("-number").first()
    if last is not None and last.result == _R.APPROVED:
        return
    said = f"sample {last.number} was refused ({last.why})" if last else "no sample of it is approved"
    raise WrongState(f"The breakdown to the look {look.name} may not begin: {said}. Have a sample approved first.")


def brought_to_look(by: User, treatment: Treatment, look: Look, done_on: date) -> None:
    """The breakdown is done: the piece is in the look, and what was put on it is kept."""
    edit_piece(by=by, piece=treatment.piece, look=look, source=treatment.what)
    say_breakdown(
        by=by,
        piece=treatment.piece,
        state=OnScreenBreakdown.State.KEEP,
        where=f"broken down to the look {look.name}"[:160],
        said_on=done_on,
        said_by_name=str(by),
        source=treatment.what,
    )
