"""The log of a search, and what was found without a number: temporary number, measures, pictures."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils import timezone

from catalog.core import history
from catalog.core.fields import between, not_blank, one_of
from catalog.core.models import File
from catalog.pieces.calc.numbers import TEMPORARY
from catalog.pieces.models import Material, Piece, Production
from catalog.pieces.production_models import Kinds
from catalog.storage.models import MissingFile, Place

__all__ = ["FoundMeasure", "FoundPicture", "FoundThing", "SearchLine"]

history.allow("found", ["number", "name", "kind", "production", "materials", "weight_g", "size_mark", "note"])
history.allow("found", ["place", "measure", "picture", "piece", "state"])
history.allow("piece", ["found_as", "search"])
history.allow("place", ["search"])


class SearchThoroughness(models.TextChoices):
    """How thoroughly a place was searched."""

    GLANCE = "glance", "looked over"
    THROUGH = "looked through", "looked through"
    EMPTIED = "emptied", "emptied, boxes opened too"


class SearchLine(models.Model):
    """One place that was searched for one missing thing. Rows are only added."""

    Thoroughness = SearchThoroughness
    file = models.ForeignKey(MissingFile, on_delete=models.PROTECT, related_name="searches")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    happened = models.DateTimeField()
    recorded = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    by_name = models.CharField(max_length=120)
    thoroughness = models.CharField(max_length=14, choices=Thoroughness.choices)
    found = models.BooleanField()
    note = models.CharField(max_length=200, blank=True)
    client_id = models.UUIDField(null=True, blank=True, unique=True, help_text="A repeated press adds nothing.")

    class Meta:
        ordering = ["-happened", "-id"]
        constraints = [one_of("thoroughness", SearchThoroughness, "searchline_thoroughness_known")]

    def __str__(self) -> str:
        return f"{self.file}: {self.place}"


class FoundState(models.TextChoices):
    """State of a found thing."""

    OPEN = "open", "not known yet"
    KNOWN = "known", "known again"


class FoundThing(models.Model):
    """A thing without a label, under a temporary number. It is told from real numbers by its first word, for ever.

    Once it is known again it belongs to its piece; its row and its number stay and lead there.
    """

    State = FoundState
    number = models.CharField(max_length=20)
    name = models.CharField(max_length=160)
    kind = models.CharField(max_length=12, choices=Kinds.choices)
    production = models.ForeignKey(Production, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    materials = models.ManyToManyField(Material, blank=True, related_name="+")
    size_mark = models.CharField(max_length=20, blank=True)
    weight_g = models.PositiveIntegerField(null=True, blank=True)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    happened = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    by_name = models.CharField(max_length=120)
    note = models.CharField(max_length=300, blank=True)
    state = models.CharField(max_length=5, choices=State.choices, default=State.OPEN)
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="found_as")
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-happened", "-id"]
        constraints = [
            models.UniqueConstraint(
                Lower("number"),
                name="foundthing_number_unique",
                violation_error_message="This temporary number is taken.",
            ),
            models.CheckConstraint(
                condition=Q(number__startswith=TEMPORARY),
                name="foundthing_number_temporary",
                violation_error_message=f"A temporary number begins with {TEMPORARY}.",
            ),
            not_blank(["number", "name"], "foundthing_named", "A found thing has a number and a name."),
            one_of("kind", Kinds, "foundthing_kind_known"),
            one_of("state", FoundState, "foundthing_state_known"),
            between("weight_g", 1, 2_000_000, "foundthing_weight_possible", "It weighs between 1 g and 2,000 kg."),
            models.CheckConstraint(
                condition=Q(state="open", piece__isnull=True, closed_at__isnull=True)
                | Q(state="known", piece__isnull=False, closed_at__isnull=False),
                name="foundthing_known_is_a_piece",
                violation_error_message="What is known again is a piece, with the moment it was known.",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    @property
    def subject(self) -> history.Subject:
        """What this thing's history lines are about."""
        return history.Subject("found", self.number)


class FoundMeasure(models.Model):
    """One point measured on a found thing."""

    found = models.ForeignKey(FoundThing, on_delete=models.PROTECT, related_name="measures")
    point = models.CharField(max_length=20)
    value_mm = models.PositiveIntegerField()

    class Meta:
        ordering = ["found", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["found", "point"],
                name="foundmeasure_point_once",
                violation_error_message="This point has a measure.",
            ),
            models.CheckConstraint(
                condition=Q(value_mm__range=(5, 12_000)),
                name="foundmeasure_possible",
                violation_error_message="A measure lies between 5 mm and 12 m.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.found} {self.point}"


class FoundPicture(models.Model):
    """A picture of a found thing."""

    found = models.ForeignKey(FoundThing, on_delete=models.PROTECT, related_name="pictures")
    file = models.ForeignKey(File, on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["found", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["found", "file"],
                name="foundpicture_once",
                violation_error_message="It has this picture already.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.found} picture"
