"""What phones sent after a wait: each act once, and what could not be done then, until somebody decides."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from catalog.core.fields import not_blank, one_of

__all__ = ["SentAct"]


class SentResult(models.TextChoices):
    """What became of an act that was sent."""

    DONE = "done", "done"
    KEPT = "kept", "waits for a decision"
    DROPPED = "dropped", "dropped"


class SentAct(models.Model):
    """One act that a page's queue sent, under the id the phone gave it. A kept one is decided once.

    What is answered is forgotten after `lanes.REMEMBERED`; what waits for a decision stays until it has one.
    `facts` are the fields as they were sent: codes and numbers, never a name or a body.
    """

    Result = SentResult
    client_id = models.UUIDField(unique=True, help_text="A repeated send adds nothing.")
    lane = models.CharField(max_length=40, help_text="Which page's acts these are; see core/lanes.py.")
    facts = models.JSONField(default=dict)
    words = models.CharField(max_length=200)
    result = models.CharField(max_length=8, choices=SentResult.choices)
    sentence = models.CharField(max_length=400, help_text="What was answered.")
    happened = models.DateTimeField()
    recorded = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=150)
    decided = models.DateTimeField(null=True, blank=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    decided_why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["happened", "id"]
        constraints = [
            one_of("result", SentResult, "sentact_result_known"),
            not_blank(["lane", "words", "sentence"], "sentact_says_what", "Say what was sent and what was answered."),
            models.CheckConstraint(
                condition=Q(decided__isnull=True, decided_by__isnull=True)
                | Q(decided__isnull=False, decided_by__isnull=False) & ~Q(result="kept"),
                name="sentact_decided_by_somebody",
                violation_error_message="A decision has a moment and somebody who made it.",
            ),
            models.CheckConstraint(
                condition=~Q(result="dropped") | (Q(decided__isnull=False) & ~Q(decided_why="")),
                name="sentact_dropped_with_a_reason",
                violation_error_message="Say why it is dropped.",
            ),
        ]
        indexes = [models.Index(fields=["result", "happened"], name="sentact_kept")]

    def __str__(self) -> str:
        return self.words
