"""What came home and was on no list: noted on a line of its own, and handed over when it is not ours."""

from datetime import date

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.models import File
from catalog.core.pictures import store_picture
from catalog.loans.models import Loan, LoanLine, Unlisted

_AWAY = {Loan.State.OUT, Loan.State.HOME}


@transaction.atomic
def note_elsewhere(*, by: User, loan: Loan, line: LoanLine) -> Unlisted:
    """A piece of ours came with this loan and belongs to `line` of another. Noted once, however often it is scanned."""
    require(by, Ability.SIGN_OUT)
    _refuse_unless_away(loan)
    if line.loan_id == loan.pk:
        raise Refused(f"{line.piece} is on {loan} itself.", field="code")
    known = Unlisted.objects.filter(loan=loan, from_line=line).first()
    if known is not None:
        return known
    row = keep(Unlisted(loan=loan, from_line=line, noted_by=by))
    record(by, "came with it, not on its list", loan.subject, after={"thing": f"{line.piece} of {line.loan}"})
    return row


@transaction.atomic
def note_not_ours(
    *,
    by: User,
    loan: Loan,
    description: str,
    owner_name: str = "",
    goes_back_to: str = "",
    picture: bytes | None = None,
) -> Unlisted:
    """A thing that is not ours came with the loan. It keeps the loan open until it is handed over."""
    require(by, Ability.SIGN_OUT)
    _refuse_unless_away(loan)
    row = Unlisted(loan=loan, description=" ".join(description.split()), owner_name=owner_name.strip(), noted_by=by)
    row.goes_back_to = goes_back_to.strip()
    if not row.description:
        raise Refused("Describe what came: it is not ours.", field="description")
    if picture is not None:
        row.file = store_picture(by=by, data=picture, seen_by=File.SeenBy.STAFF)
    keep(row)
    # Whose it is stays out of the history: it may be a performer's.
    record(by, "came with it, not ours", loan.subject, after={"thing": row.description})
    return row


@transaction.atomic
def hand_over(*, by: User, thing: Unlisted, handed_over_to: str, handed_over_on: date) -> Unlisted:
    """The thing went back to its owner. Raises WrongState the second time, and for a piece of ours."""
    require(by, Ability.SIGN_OUT)
    refuse_unless_past(handed_over_on=handed_over_on)
    row = Unlisted.objects.select_for_update(of=("self",)).select_related("loan").get(pk=thing.pk)
    if row.from_line_id is not None:
        raise WrongState("This piece is ours: count it back on its own loan.")
    if row.handed_over_on is not None:
        raise WrongState(f"“{row.description}” was handed over on {row.handed_over_on:%-d %b %Y}.")
    if not handed_over_to.strip():
        raise Refused("Say to whom it was handed over.", field="handed_over_to")
    row.handed_over_to, row.handed_over_on = handed_over_to.strip(), handed_over_on
    keep(row)
    told = {"thing": row.description, "handed_over_on": handed_over_on}
    record(by, "given back", row.loan.subject, after=told)
    return row


def _refuse_unless_away(loan: Loan) -> None:
    state = Loan.objects.select_for_update(of=("self",)).get(pk=loan.pk).state
    if state not in _AWAY:
        raise WrongState(f"{loan} is {Loan.State(state).label}: nothing can come home with it.")
