"""Samples of a look: each try at its breakdown, refused or approved, and none is thrown away."""

from django.db import models
from django.db.models import F, Q

from catalog.core import history
from catalog.core.fields import not_blank, one_of
from catalog.pieces.models import Look

__all__ = ["LookSample"]

history.allow("production", ["sample", "sample_result", "sample_why"])


class LookSampleResult(models.TextChoices):
    """Result of a look sample."""

    WAITING = "waiting", "waiting for a decision"
    APPROVED = "approved", "approved"
    REFUSED = "refused", "refused"


class LookSample(models.Model):
    """One try at the breakdown of a look, on an offcut or a spare, and what was decided about it."""

    Result = LookSampleResult
    look = models.ForeignKey(Look, on_delete=models.PROTECT, related_name="samples")
    number = models.PositiveSmallIntegerField()
    what = models.CharField(max_length=300, help_text="On what and how.")
    made_on = models.DateField()
    made_by_name = models.CharField(max_length=120)
    result = models.CharField(max_length=8, choices=Result.choices, default=Result.WAITING)
    decided_on = models.DateField(null=True, blank=True)
    decided_by_name = models.CharField(max_length=120, blank=True)
    why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["look", "number"]
        constraints = [
            models.UniqueConstraint(
                fields=["look", "number"],
                name="looksample_number_once",
                violation_error_message="The look has a sample of this number.",
            ),
            one_of("result", LookSampleResult, "looksample_result_known"),
            not_blank(["what", "made_by_name"], "looksample_named", "Say what was tried and who made it."),
            models.CheckConstraint(
                condition=Q(result="waiting", decided_on__isnull=True, decided_by_name="")
                | (~Q(result="waiting") & Q(decided_on__gte=F("made_on")) & ~Q(decided_by_name="")),
                name="looksample_decided_by_name",
                violation_error_message="A sample is decided by name, on or after the day it was made.",
            ),
            models.CheckConstraint(
                condition=~Q(result="refused") | ~Q(why=""),
                name="looksample_refusal_said",
                violation_error_message="Say why it is refused.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.look} sample {self.number}"
