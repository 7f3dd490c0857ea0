"""A trunk that came in: what was said of it, what was listed out of it, and what on a wrap list is not kept."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from catalog.core import history
from catalog.core.fields import between, not_blank, one_of
from catalog.pieces.models import Piece, Production
from catalog.pieces.production_models import Kinds
from catalog.storage.missing_models import FoundThing
from catalog.storage.models import Place

__all__ = ["Receipt", "ReceiptLine", "WrapThing"]

history.allow("place", ["said", "seal", "gross_g", "production", "quarantine", "quarantine_due", "listed"])
history.allow("production", ["wrap"])


class Receipt(models.Model):
    """A container as it came in. Until it is closed it is "received, not listed": nobody knows what is in it."""

    container = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="receipts")
    production = models.ForeignKey(Production, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    said = models.PositiveIntegerField(null=True, blank=True, help_text="How many things are said to be in it.")
    seal = models.CharField(max_length=40, blank=True)
    gross_g = models.PositiveIntegerField(null=True, blank=True, help_text="Weight as it came in.")
    note = models.CharField(max_length=300, blank=True)
    received_on = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    by_name = models.CharField(max_length=120)
    quarantine_due = models.DateField(null=True, blank=True, help_text="Kept apart with its content until checked.")
    released_on = models.DateField(null=True, blank=True, help_text="Checked as a whole, listed or not.")
    findings = models.CharField(max_length=200, blank=True)
    closed_on = models.DateField(null=True, blank=True)
    closed_by_name = models.CharField(max_length=120, blank=True)
    listed = models.PositiveIntegerField(null=True, blank=True, help_text="Counted when it was closed.")
    closing_note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["received_on", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["container"],
                condition=Q(closed_on__isnull=True),
                name="receipt_one_open",
                violation_error_message="It is received and not listed already.",
            ),
            between("said", 0, 5_000, "receipt_count_possible", "A trunk holds at most 5,000 things."),
            between("gross_g", 100, 2_000_000, "receipt_weight_possible", "It weighs between 100 g and 2,000 kg."),
            models.CheckConstraint(
                condition=Q(quarantine_due__isnull=True) | Q(quarantine_due__gte=F("received_on")),
                name="receipt_due_after_arrival",
                violation_error_message="Its quarantine ends on or after the day it came.",
            ),
            models.CheckConstraint(
                condition=Q(released_on__isnull=True)
                | Q(quarantine_due__isnull=False, released_on__gte=F("received_on")),
                name="receipt_released_after_arrival",
                violation_error_message="It is released on or after the day it came.",
            ),
            models.CheckConstraint(
                condition=Q(closed_on__isnull=True, listed__isnull=True)
                | Q(closed_on__gte=F("received_on"), listed__isnull=False),
                name="receipt_closed_with_count",
                violation_error_message="A closed receipt has its day and its count.",
            ),
            models.CheckConstraint(
                condition=Q(closed_on__isnull=True) | Q(said__isnull=True) | Q(said=F("listed")) | ~Q(closing_note=""),
                name="receipt_difference_explained",
                violation_error_message="The count differs from what was said: say why.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.container} received {self.received_on}"

    @property
    def is_apart(self) -> bool:
        """Whether it has to stay out of the main store as a whole."""
        return self.closed_on is None and self.quarantine_due is not None and self.released_on is None


class ReceiptLine(models.Model):
    """One thing listed out of a received trunk: a piece, or something unclear under its temporary number."""

    receipt = models.ForeignKey(Receipt, on_delete=models.PROTECT, related_name="lines")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="receipt_lines")
    found = models.ForeignKey(FoundThing, on_delete=models.PROTECT, null=True, blank=True, related_name="receipt_lines")
    listed_at = models.DateTimeField(default=timezone.now)
    by_name = models.CharField(max_length=120)
    client_id = models.UUIDField(null=True, blank=True, unique=True, help_text="A repeated press adds nothing.")

    class Meta:
        ordering = ["receipt", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(piece__isnull=False, found__isnull=True) | Q(piece__isnull=True, found__isnull=False),
                name="receiptline_one_thing",
                violation_error_message="A line is of a piece or of a thing with a temporary number.",
            ),
            models.UniqueConstraint(
                fields=["receipt", "piece"],
                name="receiptline_piece_once",
                violation_error_message="This piece is listed already.",
            ),
            models.UniqueConstraint(
                fields=["receipt", "found"],
                name="receiptline_found_once",
                violation_error_message="This thing is listed already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.receipt}: {self.piece or self.found}"


class WrapFate(models.TextChoices):
    """What becomes of a thing on a wrap list that the archive does not keep."""

    RETURN = "return", "to return"
    PERFORMER = "performer's own", "the performer's own"
    DISPOSE = "dispose", "to dispose of"


class WrapThing(models.Model):
    """A thing of a wrap list that is not kept: no piece, but it says where it went. No performer is named."""

    Fate = WrapFate
    production = models.ForeignKey(Production, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=160)
    kind = models.CharField(max_length=12, choices=Kinds.choices, blank=True)
    fate = models.CharField(max_length=15, choices=WrapFate.choices)
    owner_name = models.CharField(max_length=120, blank=True)
    container = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    listed_on = models.DateField()
    source = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["production", "fate", "id"]
        constraints = [
            not_blank(["name"], "wrapthing_named", "A thing on a wrap list has a name."),
            one_of("fate", WrapFate, "wrapthing_fate_known"),
            one_of("kind", Kinds, "wrapthing_kind_known", blank=True),
            models.CheckConstraint(
                condition=~Q(fate="performer's own") | Q(owner_name=""),
                name="wrapthing_no_performer_named",
                violation_error_message="The name of a performer is not kept here.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.fate}"
