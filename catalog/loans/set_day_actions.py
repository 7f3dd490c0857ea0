"""The end of a day at the set: everything is counted back, or it is said who took note of what is not."""

from datetime import date

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import clock
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.loans.models import Loan, SetDay, SetDayOpen
from catalog.loans.nameless import without_names
from catalog.loans.set_day_queries import CountBack, count_back, in_words


@transaction.atomic
def close_set_day(*, by: User, loan: Loan, day: date, noted_by: str = "", note: str = "") -> SetDay:
    """Close a day. With pieces still out it is refused until somebody takes note and says what is known.

    Raises WrongState for a day that is closed, is still to come, or on which the loan was not out.
    """
    require(by, Ability.SIGN_OUT)
    now = Loan.objects.select_for_update(of=("self",)).select_related("call").get(pk=loan.pk)
    if day > clock.today():
        raise WrongState(f"{day:%-d %b %Y} is still to come: a day is closed on its evening.", field="day")
    if now.out_on is None or day < now.out_on:
        raise WrongState(f"{loan} was not out on {day:%-d %b %Y}.", field="day")
    count = count_back(now, day)
    if count.closed is not None:
        raise WrongState(f"{day:%-d %b %Y} was closed by {count.closed.closed_by}.", field="day")
    if count.open and not noted_by.strip():
        raise Refused(f"{in_words(count)} To close the day all the same, say who takes note.", field="noted_by")
    if count.open and not note.strip():
        raise Refused("Say what is known of what is still out: where it was last, who looks for it.", field="note")
    row = SetDay(loan=loan, day=day, closed_at=clock.now(), closed_by=by)
    if count.open:
        row.noted_by, row.note = noted_by.strip(), without_names(now, " ".join(note.split()))[:200]
    keep(row)
    _keep_open(row, count)
    told = {"day": day, "pieces": [f"{one.number} with performer {one.performer or 'nobody'}" for one in count.open]}
    record(by, "day on set closed", loan.subject, after=told, reason=row.note)
    return row


def _keep_open(row: SetDay, count: CountBack) -> None:
    for one in count.open:
        keep(SetDayOpen(set_day=row, line=one.line, wearer=one.wearer, out_at=one.out_at))
