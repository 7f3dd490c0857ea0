"""How pieces were worn in a scene: what stays for good, and the pictures, which go on a performer's day."""

from django.conf import settings
from django.db import models

from catalog.core import history
from catalog.core.fields import not_blank
from catalog.core.models import File
from catalog.loans.call_models import Wearer
from catalog.loans.loan_models import Loan
from catalog.pieces.models import Piece, Production

history.allow("call", ["pictures_deleted"])
history.allow("piece", ["scene", "story_day"])


class SceneNote(models.Model):
    """A scene, a day of the story, how it was fastened and which pieces. It knows a performer by number alone."""

    production = models.ForeignKey(Production, on_delete=models.PROTECT, related_name="scene_notes")
    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, null=True, blank=True, related_name="scene_notes")
    wearer = models.ForeignKey(Wearer, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    scene = models.CharField(max_length=30)
    story_day = models.CharField(max_length=40, blank=True)
    fastened = models.CharField(max_length=300, blank=True, help_text="Buttons, collar, sleeves, hair, dirt.")
    pieces = models.ManyToManyField(Piece, related_name="scene_notes")
    taken_at = models.DateTimeField()
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["production", "scene", "taken_at", "id"]
        constraints = [not_blank(["scene"], "scenenote_has_a_scene", "Say which scene.")]
        indexes = [models.Index(fields=["production", "scene"], name="scenenote_scene")]

    def __str__(self) -> str:
        return f"scene {self.scene}"


class ScenePicture(models.Model):
    """A frame of a scene. With a performer in it, it is deleted with its file when that performer's sizes are."""

    note = models.ForeignKey(SceneNote, on_delete=models.CASCADE, related_name="pictures")
    file = models.ForeignKey(File, on_delete=models.PROTECT, related_name="+")
    shows = models.ForeignKey(
        Wearer,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="pictures",
        help_text="Empty: pieces only.",
    )

    class Meta:
        ordering = ["note", "id"]
        constraints = [models.UniqueConstraint(fields=["file"], name="scenepicture_file_once")]

    def __str__(self) -> str:
        return f"picture of {self.note}"
