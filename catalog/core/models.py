"""Tables that know no film word: history lines, stored files, house settings."""

from django.conf import settings
from django.core.files.storage import Storage, storages
from django.db import models
from django.db.models import Q
from django.utils import timezone

__all__ = ["File", "HistoryLine", "HouseSetting"]


class HistoryLine(models.Model):
    """One thing that happened to one subject. Never changed, never deleted: triggers refuse both.

    Lines of a subject form a chain: each hash covers the line and the hash before it, so a changed or lost line
    shows. The head hash stands on papers. Bodies and performers' names never enter a line.
    """

    subject_kind = models.CharField(max_length=40)
    subject_id = models.CharField(max_length=40)
    seq = models.PositiveIntegerField()
    happened = models.DateTimeField()
    recorded = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    by_name = models.CharField(
        max_length=150, help_text="The duty or person as written then; survives a renamed login."
    )
    verb = models.CharField(max_length=60)
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)
    reason = models.CharField(max_length=300, blank=True)
    client_id = models.UUIDField(
        null=True, unique=True, help_text="Set by a scanning device: a repeated send adds nothing."
    )
    previous_hash = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)

    class Meta:
        ordering = ["subject_kind", "subject_id", "seq"]
        constraints = [
            models.UniqueConstraint(fields=["subject_kind", "subject_id", "seq"], name="historyline_one_chain"),
            models.CheckConstraint(condition=Q(seq__gte=1), name="historyline_seq_from_one"),
        ]
        indexes = [models.Index(fields=["-recorded"], name="historyline_recorded")]

    def __str__(self) -> str:
        return f"{self.subject_kind} {self.subject_id} #{self.seq} {self.verb}"


def media_storage() -> Storage:
    """Where originals and derivatives lie; named here so that migrations never point into a room."""
    return storages["default"]


class File(models.Model):
    """Stored bytes under their SHA-256. Rooms link to it; it names no subject itself.

    The original is kept as it came and never served to others; pages show re-encoded derivatives.
    """

    class SeenBy(models.TextChoices):
        EVERYBODY = "everybody", "everybody with a login"
        STAFF = "staff", "all duties but visitors"
        WARDROBE = "wardrobe", "wardrobe lead and archivist"

    sha256 = models.CharField(max_length=64, unique=True)
    media_type = models.CharField(max_length=60)
    size_bytes = models.PositiveBigIntegerField()
    width_px = models.PositiveIntegerField(null=True)
    height_px = models.PositiveIntegerField(null=True)
    original = models.FileField(storage=media_storage, max_length=200)
    large = models.FileField(storage=media_storage, max_length=200, blank=True)
    small = models.FileField(storage=media_storage, max_length=200, blank=True)
    dhash = models.BigIntegerField(null=True, blank=True, help_text="What it looks like in 64 bits; see core/looks.py.")
    seen_by = models.CharField(max_length=12, choices=SeenBy.choices, default=SeenBy.EVERYBODY)
    personal = models.BooleanField(
        default=False, help_text="A person is in it: one row alone has it, and it is deleted on that person's day."
    )
    rights_owner = models.CharField(max_length=120, blank=True)
    permitted_use = models.CharField(max_length=200, blank=True)
    stored_at = models.DateTimeField(default=timezone.now)
    stored_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(seen_by__in=["everybody", "staff", "wardrobe"]),
                name="file_seen_by_known",
                violation_error_message="Say who may see the file.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.media_type} {self.sha256[:12]}"


class HouseSetting(models.Model):
    """One setting that the archive edits: buffers, currency, the found-property sentence, number formats."""

    key = models.CharField(max_length=60, unique=True)
    value = models.JSONField()
    words = models.CharField(max_length=200, blank=True, help_text="What the setting does, in one sentence.")

    class Meta:
        ordering = ["key"]

    def __str__(self) -> str:
        return self.key
