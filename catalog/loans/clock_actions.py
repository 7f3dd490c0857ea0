"""On set: the clock of a piece with a limit, and what was seen to be damaged."""

from datetime import datetime

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import clock
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Overtaken, Refused, WrongState
from catalog.core.history import record
from catalog.loans.clock_queries import at_time, clocks
from catalog.loans.models import DamageNote, LoanLine, WearSpell
from catalog.loans.nameless import without_names
from catalog.loans.set_actions import locked, refuse_unless_wearable, refuse_what_is_not_here

_S = LoanLine.State


@transaction.atomic
def start_clock(*, by: User, line: LoanLine, happened: datetime | None = None, again_by: str = "") -> WearSpell:
    """Somebody puts it on. Raises WrongState while it runs, is on nobody or rests; Refused where the limit is reached
    and nobody is named who said that it may be worn again.

    What was worn already is kept whatever the limit says: `happened` is the moment of an act that was sent late.
    """
    require(by, Ability.SIGN_OUT)
    refuse_unless_past(happened=happened)
    line = locked(line)
    at = happened or clock.now()
    running = line.spells.filter(stopped_at=None).first()
    if running is not None and running.started_at <= at:
        raise WrongState(f"The clock of {line.piece} runs since {at_time(running.started_at)}.", field="code")
    then = line.sign_outs.filter(out_at__lte=at).exclude(in_at__lt=at)
    if not then.exists() if happened else line.state != _S.ON_SET:
        refuse_what_is_not_here(line)
        raise WrongState(f"{line.piece} is on nobody: sign it out first.", field="code")
    if happened is None:
        refuse_unless_wearable(line)
        _refuse_while_it_rests(line, again_by)
    if running is not None:
        running.started_at = at
        return keep(running)
    row = WearSpell(line=line, wearer=line.wearer, started_at=at, again_by=again_by.strip(), started_by=by)
    keep(row)
    record(by, "clock started", line.piece.subject, after=_facts(line), happened=happened)
    return row


@transaction.atomic
def stop_clock(*, by: User, line: LoanLine, happened: datetime | None = None) -> WearSpell:
    """It comes off. Raises WrongState when its clock does not run, Overtaken for a moment before it was started."""
    require(by, Ability.SIGN_OUT)
    refuse_unless_past(happened=happened)
    line = locked(line)
    row = line.spells.filter(stopped_at=None).first()
    if row is None:
        raise WrongState(f"The clock of {line.piece} does not run.", field="code")
    at = happened or clock.now()
    if at < row.started_at:
        raise Overtaken(f"The clock of {line.piece} was started at {at_time(row.started_at)}, after that.")
    row.stopped_at = at
    keep(row)
    record(by, "clock stopped", line.piece.subject, after=_facts(line), happened=happened)
    return row


@transaction.atomic
def note_damage(
    *, by: User, line: LoanLine, what: str, cause: str = DamageNote.Cause.UNKNOWN, happened: datetime | None = None
) -> DamageNote:
    """What was seen on a piece that is out; a performer is named by number. Raises Refused without a word of what."""
    require(by, Ability.SIGN_OUT)
    refuse_unless_past(happened=happened)
    line = locked(line)
    refuse_what_is_not_here(line)
    said = " ".join(what.split())
    if not said:
        raise Refused("Say what is damaged.", field="what")
    said = without_names(line.loan, said)[:200]
    row = DamageNote(line=line, what=said, cause=cause or DamageNote.Cause.UNKNOWN, noted_by=by)
    row.wearer = line.wearer if line.state == _S.ON_SET else None
    row.seen_at = happened or clock.now()
    keep(row)
    told = {"loan": line.loan.reference, "damage": said, "damage_cause": row.cause}
    record(by, "damage noted", line.piece.subject, after=told, happened=happened)
    return row


def _refuse_while_it_rests(line: LoanLine, again_by: str) -> None:
    told = clocks([line])[line.piece_id]
    if told.next_after is not None:
        rests = f"{line.piece} rests: it was worn to its limit and is next worn after {at_time(told.next_after)}."
        raise WrongState(rests, field="code")
    if told.needs_word and not again_by.strip():
        raise Refused(
            f"{line.piece} was worn to its limit, and the decision names no rest: say who lets it be worn again.",
            field="again_by",
        )


def _facts(line: LoanLine) -> dict[str, object]:
    return {"loan": line.loan.reference, "performer": line.wearer.number if line.wearer else ""}
