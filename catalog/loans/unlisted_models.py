"""What came home with a loan and stands on no line of it: ours from another loan, or a thing that is not ours."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from catalog.core import history
from catalog.core.models import File
from catalog.loans.loan_models import Loan, LoanLine

history.allow("loan", ["thing", "handed_over_on"])


class Unlisted(models.Model):
    """A line for what was on no list. A thing that is not ours stays open until it was handed over; a piece of ours is
    counted back on its own loan, whose line it names.
    """

    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="unlisted")
    from_line = models.ForeignKey(LoanLine, on_delete=models.PROTECT, null=True, blank=True, related_name="came_with")
    description = models.CharField(max_length=160, blank=True)
    owner_name = models.CharField(max_length=120, blank=True, help_text="Empty: not known.")
    goes_back_to = models.CharField(max_length=160, blank=True)
    file = models.ForeignKey(File, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    arrived_at = models.DateTimeField(default=timezone.now)
    noted_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    handed_over_on = models.DateField(null=True, blank=True)
    handed_over_to = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["loan", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["loan", "from_line"],
                name="unlisted_line_once",
                violation_error_message="It has its own line here already.",
            ),
            models.CheckConstraint(
                condition=Q(from_line__isnull=False, description="") | (Q(from_line__isnull=True) & ~Q(description="")),
                name="unlisted_ours_or_described",
                violation_error_message="Describe what came: it is not ours.",
            ),
            models.CheckConstraint(
                condition=Q(handed_over_on__isnull=True, handed_over_to="")
                | (Q(handed_over_on__isnull=False, from_line__isnull=True) & ~Q(handed_over_to="")),
                name="unlisted_handed_over_whole",
                violation_error_message="Say to whom it was handed over, and when.",
            ),
        ]

    def __str__(self) -> str:
        return self.description or f"{self.from_line}"
