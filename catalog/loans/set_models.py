"""On set: who had which piece from when to when."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from catalog.loans.call_models import Wearer
from catalog.loans.loan_models import LoanLine


def _by() -> "models.ForeignKey[object, object]":
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )


class SignOut(models.Model):
    """A piece given to a performer and taken in again. Its moments are those of the acts, also when sent late."""

    line = models.ForeignKey(LoanLine, on_delete=models.PROTECT, related_name="sign_outs")
    wearer = models.ForeignKey(Wearer, on_delete=models.PROTECT, related_name="sign_outs")
    out_at = models.DateTimeField()
    out_by = _by()
    in_at = models.DateTimeField(null=True, blank=True)
    in_by = _by()

    class Meta:
        ordering = ["out_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["line"],
                condition=Q(in_at__isnull=True),
                name="signout_one_open_a_line",
                violation_error_message="The piece is signed out already.",
            ),
            models.CheckConstraint(
                condition=Q(in_at__isnull=True) | Q(in_at__gte=F("out_at")),
                name="signout_in_order",
                violation_error_message="It comes in after it went out.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.line} to {self.wearer.number}"
