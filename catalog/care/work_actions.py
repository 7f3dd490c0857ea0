"""What is done to a piece: treatments, quarantine, alterations that can be undone."""

from datetime import date
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.models import Alteration, Quarantine, Treatment
from catalog.core import history
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.pieces.calc.kinds import POINTS
from catalog.pieces.models import Piece


@transaction.atomic
def need_treatment(
    *, by: User, piece: Piece, what: str, days: int | None = None, day_kind: str = "working", source: str = ""
) -> Treatment:
    """Note work that the piece needs and how long it takes."""
    require(by, Ability.DECIDE_WEAR)
    row = keep(Treatment(piece=piece, what=" ".join(what.split()), days=days, day_kind=day_kind))
    history.record(by, "treatment needed", piece.subject, after=_treatment_facts(row), reason=source)
    return row


@transaction.atomic
def start_treatment(*, by: User, treatment: Treatment, started_on: date, source: str = "") -> Treatment:
    """The work begins. Raises WrongState when it is under way or done already."""
    return _go_on(by, treatment, Treatment.State.NEEDED, Treatment.State.STARTED, source, started_on=started_on)


@transaction.atomic
def finish_treatment(*, by: User, treatment: Treatment, done_on: date, source: str = "") -> Treatment:
    """The work is done. Raises WrongState when it was not started."""
    return _go_on(by, treatment, Treatment.State.STARTED, Treatment.State.DONE, source, done_on=done_on)


@transaction.atomic
def open_quarantine(
    *, by: User, piece: Piece, opened_on: date, due_on: date, reason: str, source: str = ""
) -> Quarantine:
    """Keep the piece apart until it is checked. Raises Refused when it is in quarantine already."""
    require(by, Ability.MOVE)
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
    """The piece is checked and may go back among the others. Raises WrongState when it is not in quarantine."""
    require(by, Ability.PUT_AWAY)
    row = Quarantine.objects.select_for_update().filter(piece=piece, released_on__isnull=True).first()
    if row is None:
        raise WrongState(f"{piece.number} is not in quarantine.")
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


@transaction.atomic
def alter(
    *,
    by: User,
    piece: Piece,
    what: str,
    point: str = "",
    change_mm: int | None = None,
    done_on: date,
    done_by_name: str,
    undo_by: date | None = None,
    source: str = "",
) -> Alteration:
    """A change of size that can be undone. The measure itself is corrected by whoever measures again."""
    require(by, Ability.ALTER)
    if point and point not in POINTS:
        raise Refused(f"“{point}” is no point we measure.", field="point")
    row = Alteration(piece=piece, what=" ".join(what.split()), point=point, change_mm=change_mm, done_on=done_on)
    row.done_by_name, row.undo_by = done_by_name.strip(), undo_by
    keep(row)
    history.record(by, "altered", piece.subject, after=_alteration_facts(row), reason=source)
    return row


@transaction.atomic
def undo_alteration(*, by: User, alteration: Alteration, undone_on: date, source: str = "") -> Alteration:
    """The alteration is undone. Raises WrongState when it was undone before."""
    require(by, Ability.ALTER)
    row = Alteration.objects.select_for_update(of=("self",)).select_related("piece").get(pk=alteration.pk)
    if row.undone_on is not None:
        raise WrongState(f"“{row.what}” was undone before.")
    row.undone_on = undone_on
    keep(row)
    told = {"alteration": {"what": row.what}, "undone_on": undone_on}
    history.record(by, "alteration undone", row.piece.subject, after=told, reason=source)
    return row


def _go_on(by: User, treatment: Treatment, old: str, new: str, source: str, **dates: date) -> Treatment:
    require(by, Ability.DECIDE_WEAR)
    row = Treatment.objects.select_for_update(of=("self",)).select_related("piece").get(pk=treatment.pk)
    if row.state != old:
        raise WrongState(f"“{row.what}” is {row.get_state_display()}.")
    before = _treatment_facts(row)
    row.state = new
    for field, day in dates.items():
        setattr(row, field, day)
    keep(row)
    history.record(by, f"treatment {new}", row.piece.subject, before=before, after=_treatment_facts(row), reason=source)
    return row


def _treatment_facts(row: Treatment) -> dict[str, Any]:
    return {"treatment": {"what": row.what, "days": row.days}, "treatment_state": row.state}


def _alteration_facts(row: Alteration) -> dict[str, Any]:
    told = {"what": row.what, "point": row.point, "change_mm": row.change_mm}
    return {
        "alteration": {key: value for key, value in told.items() if value not in (None, "")},
        "undo_by": row.undo_by,
    }
