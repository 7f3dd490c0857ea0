"""That somebody looked at a piece and found it unchanged."""

from django.conf import settings
from django.db import models

from catalog.core import history
from catalog.pieces.models import Piece

__all__ = ["Inspection"]

history.allow("piece", ["looked_on"])


class Inspection(models.Model):
    """Looked at, no change since the report before it. What has changed is a new condition report."""

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="inspections")
    looked_on = models.DateField()
    looked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["piece", "-looked_on", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece", "looked_on"],
                name="inspection_once_a_day",
                violation_error_message="Somebody looked at it on that day already.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.piece} {self.looked_on}"
