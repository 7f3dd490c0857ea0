"""Scans that waited for a signal and met something they did not know of: kept until somebody decides."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from catalog.core.fields import not_blank, one_of
from catalog.pieces.models import Piece
from catalog.storage.models import Move, Place

__all__ = ["KeptScan"]


class Decision(models.TextChoices):
    """How a kept scan ended."""

    PUT = "put", "put there now"
    PAST = "past", "noted as a sighting in the past"
    DROPPED = "dropped", "dropped"


class KeptScan(models.Model):
    """One scan that arrived late and could not be carried out as things stood. Never deleted; decided once.

    What was read is kept as it was read: whether it means a thing of the store may be just what is wrong with it.
    """

    Decision = Decision
    client_id = models.UUIDField(unique=True, help_text="A repeated send keeps nothing twice.")
    thing_text = models.CharField(max_length=120)
    to_text = models.CharField(max_length=120)
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="kept_scans")
    container = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="kept_scans")
    to_place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    reason = models.CharField(max_length=200, blank=True)
    why = models.CharField(max_length=400, help_text="What stood in the way when it arrived.")
    happened = models.DateTimeField()
    recorded = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)
    decision = models.CharField(max_length=8, choices=Decision.choices, blank=True)
    decided = models.DateTimeField(null=True, blank=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    decided_why = models.CharField(max_length=200, blank=True)
    move = models.OneToOneField(Move, on_delete=models.PROTECT, null=True, blank=True, related_name="kept_scan")

    class Meta:
        ordering = ["happened", "id"]
        constraints = [
            one_of("decision", Decision, "keptscan_decision_known", blank=True),
            not_blank(["why"], "keptscan_says_why", "Say what stood in the way."),
            models.CheckConstraint(
                condition=Q(piece__isnull=True) | Q(container__isnull=True),
                name="keptscan_one_thing",
                violation_error_message="A scan is of one piece or of one container.",
            ),
            models.CheckConstraint(
                condition=Q(decision="", decided__isnull=True, decided_by__isnull=True)
                | (~Q(decision="") & Q(decided__isnull=False, decided_by__isnull=False)),
                name="keptscan_decided_by_somebody",
                violation_error_message="A decision has a day and somebody who made it.",
            ),
            models.CheckConstraint(
                condition=Q(decision__in=["put", "past"], move__isnull=False)
                | (~Q(decision__in=["put", "past"]) & Q(move__isnull=True)),
                name="keptscan_move_as_decided",
                violation_error_message="A scan that is carried out has its move, any other has none.",
            ),
        ]
        indexes = [models.Index(fields=["decision", "happened"], name="keptscan_open")]

    def __str__(self) -> str:
        return f"{self.piece or self.container or self.thing_text} to {self.to_place or self.to_text}"
