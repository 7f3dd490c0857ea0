"""Noting what a loan costs, and striking out what was noted wrongly."""

from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.loans.models import Loan, LoanCost


@transaction.atomic
def note_cost(*, by: User, loan: Loan, what: str, amount: Decimal, currency: str, paid_by: str) -> LoanCost:
    """One more cost, also after the loan closed: bills come late. Raises Refused for an amount of nothing."""
    require(by, Ability.COSTS)
    Loan.objects.select_for_update(of=("self",)).get(pk=loan.pk)
    code = currency.strip().upper()
    if len(code) != 3 or not (code.isascii() and code.isalpha()):
        raise Refused("Type the currency as its three letters, for example EUR.", field="currency")
    if amount <= 0:
        raise Refused("Amount: a cost is more than nothing.", field="amount")
    row = keep(
        LoanCost(loan=loan, what=" ".join(what.split()), amount=amount, currency=code, paid_by=paid_by, noted_by=by)
    )
    record(by, "cost noted", loan.subject, after=_facts(row))
    return row


@transaction.atomic
def strike_cost(*, by: User, cost: LoanCost, reason: str) -> LoanCost:
    """The entry was wrong: it stays to be read and counts no more. Raises WrongState the second time."""
    require(by, Ability.COSTS)
    row = LoanCost.objects.select_for_update(of=("self",)).select_related("loan").get(pk=cost.pk)
    if row.struck_at is not None:
        raise WrongState(f"“{row.what}” is struck out already.")
    if not reason.strip():
        raise Refused("Say why it is struck out.", field="reason")
    row.struck_at, row.struck_reason = timezone.now(), " ".join(reason.split())
    keep(row)
    record(by, "cost struck out", row.loan.subject, before=_facts(row), reason=row.struck_reason)
    return row


def _facts(row: LoanCost) -> dict[str, object]:
    return {"cost": row.what, "amount": row.amount, "currency": row.currency, "paid_by": row.paid_by}
