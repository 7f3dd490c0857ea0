"""The out-report and the in-report of a loan: which condition report stands for which piece, and who signed."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from catalog.care.models import ConditionReport
from catalog.core import history
from catalog.core.fields import one_of
from catalog.core.frozen import freeze
from catalog.loans.loan_models import Loan, LoanLine

__all__ = ["LoanReport", "LoanReportLine", "LoanReportWay"]

history.allow("loan", ["signed_report", "reported"])


class LoanReportWay(models.TextChoices):
    """Which way the pieces went when they were looked at."""

    OUT = "out", "out-report"
    IN = "in", "in-report"


class LoanReport(models.Model):
    """One report of a loan. Once both sides have signed, nothing in it changes: triggers refuse it."""

    Way = LoanReportWay
    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="reports")
    way = models.CharField(max_length=3, choices=Way.choices)
    lender_name = models.CharField(max_length=120, blank=True)
    lender_for = models.CharField(max_length=160, blank=True)
    lender = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    borrower_name = models.CharField(max_length=120, blank=True, help_text="Never a performer's.")
    borrower_for = models.CharField(max_length=160, blank=True)
    signed_on = models.DateField(null=True, blank=True)
    signed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["loan", "-way"]
        constraints = [
            models.UniqueConstraint(fields=["loan", "way"], name="loanreport_once"),
            one_of("way", LoanReportWay, "loanreport_way_known"),
            models.CheckConstraint(
                condition=Q(signed_at__isnull=True, signed_on__isnull=True)
                | (
                    Q(signed_at__isnull=False, signed_on__isnull=False, lender__isnull=False)
                    & ~Q(lender_name="")
                    & ~Q(lender_for="")
                    & ~Q(borrower_name="")
                    & ~Q(borrower_for="")
                ),
                name="loanreport_signed_by_both",
                violation_error_message="Both sides sign: a name, for whom, and the day.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_way_display()} of {self.loan}"


class LoanReportLine(models.Model):
    """The condition report that stands for a piece in a report of its loan; until both sign, a newer may replace it."""

    report = models.ForeignKey(LoanReport, on_delete=models.PROTECT, related_name="lines")
    line = models.ForeignKey(LoanLine, on_delete=models.PROTECT, related_name="reported")
    condition = models.ForeignKey(ConditionReport, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=160, help_text="The piece's name as it was then.")

    class Meta:
        ordering = ["report", "line__order", "line"]
        constraints = [models.UniqueConstraint(fields=["report", "line"], name="loanreportline_once")]

    def __str__(self) -> str:
        return f"{self.report}: {self.name}"


_SIGNED = "a report that both sides signed is never changed or deleted"
freeze("catalog_loanreport", _SIGNED, when="{row}.signed_at IS NOT NULL", acts=["UPDATE", "DELETE"])
freeze(
    "catalog_loanreportline",
    _SIGNED,
    when="EXISTS (SELECT 1 FROM catalog_loanreport s WHERE s.id = {row}.report_id AND s.signed_at IS NOT NULL)",
    into=True,
)
