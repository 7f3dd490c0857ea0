"""What a loan costs, and who pays it."""

from django.conf import settings
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from catalog.core import history
from catalog.core.fields import not_blank, one_of
from catalog.loans.loan_models import Loan

history.allow("loan", ["cost", "amount", "currency", "paid_by"])


class CostPaidBy(models.TextChoices):
    """Who pays a cost of a loan."""

    LENDER = "lender", "the archive"
    BORROWER = "borrower", "the borrower"
    INSURER = "insurer", "the insurer"


class LoanCost(models.Model):
    """One cost: cleaning, a carrier, a repair. A wrong entry is struck out and stays to be read."""

    PaidBy = CostPaidBy
    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="costs")
    what = models.CharField(max_length=160)
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    currency = models.CharField(
        max_length=3, validators=[RegexValidator(r"^[A-Z]{3}\Z", "A currency is three capital letters, like EUR.")]
    )
    paid_by = models.CharField(max_length=8, choices=PaidBy.choices)
    noted_at = models.DateTimeField(default=timezone.now)
    noted_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_reason = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering = ["loan", "id"]
        constraints = [
            one_of("paid_by", CostPaidBy, "loancost_paid_by_known"),
            not_blank(["what", "currency"], "loancost_named", "Say what it is, and in which currency."),
            models.CheckConstraint(
                condition=Q(amount__gt=0),
                name="loancost_above_nothing",
                violation_error_message="Amount: a cost is more than nothing.",
            ),
            models.CheckConstraint(
                condition=Q(struck_at__isnull=True, struck_reason="")
                | (Q(struck_at__isnull=False) & ~Q(struck_reason="")),
                name="loancost_struck_with_reason",
                violation_error_message="Say why it is struck out.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what}, {self.loan}"
