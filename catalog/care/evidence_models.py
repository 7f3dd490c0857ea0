"""What was on screen stays: whether a piece carries breakdown that belongs to its look."""

from django.db import models
from django.db.models import Q

from catalog.core import history
from catalog.core.fields import not_blank, one_of
from catalog.pieces.models import Piece

__all__ = ["OnScreenBreakdown"]

history.allow("piece", ["breakdown", "breakdown_where", "cleaning", "cleaning_approved"])


class OnScreenBreakdownState(models.TextChoices):
    """State of an on-screen breakdown."""

    KEEP = "keep", "on-screen breakdown: keep"
    NONE = "none", "no on-screen breakdown"


class OnScreenBreakdown(models.Model):
    """What somebody said about the salt, mud, soot and tears of a piece. Without a row nobody knows."""

    State = OnScreenBreakdownState
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="breakdowns")
    state = models.CharField(max_length=4, choices=State.choices)
    where = models.CharField(max_length=160, blank=True, help_text="For example: salt line to the hip, scene 12.")
    said_on = models.DateField()
    said_by_name = models.CharField(max_length=120)
    current = models.BooleanField(default=True)

    class Meta:
        ordering = ["piece", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["piece"], condition=Q(current=True), name="onscreenbreakdown_one_current"),
            one_of("state", OnScreenBreakdownState, "onscreenbreakdown_state_known"),
            not_blank(["said_by_name"], "onscreenbreakdown_by_named", "Write who said so."),
        ]

    def __str__(self) -> str:
        return f"{self.piece} {self.state}"
