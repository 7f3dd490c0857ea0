"""Stocktakes: what was drawn, which places were counted, what was seen, and what came of it."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils import timezone

from catalog.core import history
from catalog.core.fields import one_of
from catalog.pieces.models import Piece

__all__ = ["Sighting", "Stocktake", "StocktakeDrawn", "StocktakeLine", "StocktakeStop"]

history.allow("piece", ["seen"])
history.allow("place", ["seen"])
history.allow(
    "stocktake",
    [
        "place",
        "draw",
        "places",
        "drawn",
        "sample",
        "from",
        "seed",
        "counted",
        "seen",
        "differences",
        "settled",
        "on_a_job",
    ],
)


class StocktakeDraw(models.TextChoices):
    """What is counted."""

    EVERYTHING = "everything", "everything there"
    SAMPLE = "sample", "all of high value, and a random sample of the rest"


class Stocktake(models.Model):
    """One count. Until it is closed nobody is shown what is expected.

    Of a sample the seed is kept, the line from which a value is high, and how many pieces it was drawn from, so that
    anybody can draw it again.
    """

    Draw = StocktakeDraw
    reference = models.CharField(max_length=20)
    place = models.ForeignKey("catalog.Place", on_delete=models.PROTECT, related_name="stocktakes")
    draw = models.CharField(max_length=10, choices=StocktakeDraw.choices)
    sample_size = models.PositiveIntegerField(null=True, blank=True)
    drawn_from = models.PositiveIntegerField(null=True, blank=True)
    high_value = models.PositiveIntegerField(null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)
    seed = models.CharField(max_length=32, blank=True)
    started_at = models.DateTimeField(default=timezone.now)
    started_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    sample_missing = models.PositiveIntegerField(null=True, blank=True)
    sample_left = models.PositiveIntegerField(null=True, blank=True, help_text="Drawn, but nobody looked for them.")

    class Meta:
        ordering = ["-started_at", "-id"]
        constraints = [
            models.UniqueConstraint(Lower("reference"), name="stocktake_reference_unique"),
            models.UniqueConstraint(
                fields=["place"],
                condition=Q(closed_at__isnull=True),
                name="stocktake_one_open_a_place",
                violation_error_message="A stocktake of this place is open already.",
            ),
            one_of("draw", StocktakeDraw, "stocktake_draw_known"),
            models.CheckConstraint(
                condition=Q(draw="everything", sample_size__isnull=True, seed="")
                | Q(draw="sample", sample_size__isnull=False, drawn_from__isnull=False, high_value__isnull=False)
                & ~Q(seed=""),
                name="stocktake_sample_repeatable",
                violation_error_message="A sample is kept with its size, its seed and what it was drawn from.",
            ),
            models.CheckConstraint(
                condition=Q(sample_size__isnull=True) | Q(sample_size__lte=models.F("drawn_from")),
                name="stocktake_sample_within_frame",
                violation_error_message="A sample is no larger than what it is drawn from.",
            ),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True, closed_by__isnull=True)
                | Q(closed_at__isnull=False, closed_by__isnull=False),
                name="stocktake_closed_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return self.reference

    @property
    def subject(self) -> history.Subject:
        """What this stocktake's history lines are about."""
        return history.Subject("stocktake", self.reference)

    @property
    def is_open(self) -> bool:
        """Whether it is still counted."""
        return self.closed_at is None


class StocktakeDrawn(models.Model):
    """A piece that was drawn, and for which reason."""

    class Why(models.TextChoices):
        HIGH = "high value", "high value"
        SAMPLE = "sample", "sample"

    stocktake = models.ForeignKey(Stocktake, on_delete=models.PROTECT, related_name="drawn")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="+")
    why = models.CharField(max_length=10, choices=Why.choices)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["stocktake", "piece"], name="stocktakedrawn_once"),
            models.CheckConstraint(condition=Q(why__in=["high value", "sample"]), name="stocktakedrawn_why_known"),
        ]

    def __str__(self) -> str:
        return f"{self.piece} drawn for {self.stocktake}"


class StocktakeStop(models.Model):
    """A place to go to. What was recorded there counts as missing only where all of it was counted."""

    stocktake = models.ForeignKey(Stocktake, on_delete=models.PROTECT, related_name="stops")
    place = models.ForeignKey("catalog.Place", on_delete=models.PROTECT, related_name="+")
    counted_at = models.DateTimeField(null=True, blank=True)
    counted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints = [models.UniqueConstraint(fields=["stocktake", "place"], name="stocktakestop_once")]

    def __str__(self) -> str:
        return f"{self.place} of {self.stocktake}"


class SightingKind(models.TextChoices):
    """What was seen."""

    PIECE = "piece", "piece"
    CONTAINER = "container", "container"
    THING = "thing", "thing"


class Sighting(models.Model):
    """Somebody saw something there and then. Rows are only added; one that was a mistake is taken back by a date.

    Where the label leads to nothing, `text` is what it says, or what was seen; `labelled` is whether it has one.
    """

    Kind = SightingKind
    stocktake = models.ForeignKey(Stocktake, on_delete=models.PROTECT, related_name="sightings")
    place = models.ForeignKey("catalog.Place", on_delete=models.PROTECT, related_name="+")
    inside = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="contents")
    kind = models.CharField(max_length=10, choices=SightingKind.choices)
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="sightings")
    container = models.ForeignKey(
        "catalog.Place", on_delete=models.PROTECT, null=True, blank=True, related_name="sightings"
    )
    text = models.CharField(max_length=120, blank=True)
    labelled = models.BooleanField(default=True)
    seen_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)
    client_id = models.UUIDField(unique=True, help_text="A repeated scan adds nothing.")
    taken_back_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-seen_at", "-id"]
        constraints = [
            one_of("kind", SightingKind, "sighting_kind_known"),
            models.CheckConstraint(
                condition=Q(kind="piece", piece__isnull=False, container__isnull=True)
                | Q(kind="container", piece__isnull=True) & (Q(container__isnull=False) | ~Q(text=""))
                | Q(kind="thing", piece__isnull=True, container__isnull=True) & ~Q(text=""),
                name="sighting_one_thing",
                violation_error_message="Say what was seen.",
            ),
            models.CheckConstraint(
                condition=Q(inside__isnull=True) | ~Q(inside=models.F("id")), name="sighting_not_in_itself"
            ),
        ]
        indexes = [models.Index(fields=["stocktake", "place"], name="sighting_by_place")]

    def __str__(self) -> str:
        return self.words

    @property
    def words(self) -> str:
        """What was seen: its number, or what its label says."""
        if self.piece is not None:
            return self.piece.number
        if self.container is not None:
            return self.container.code
        return f"container {self.text}" if self.kind == SightingKind.CONTAINER else self.text


class LineKind(models.TextChoices):
    """What came of the count."""

    MISSING = "missing", "missing here"
    EXTRA = "extra", "extra here"
    WRONG = "wrong place", "wrong place"
    UNREADABLE = "unreadable", "unreadable label"
    UNLABELLED = "unlabelled", "without a label"
    OTHERWISE = "otherwise", "wrong label"


class StocktakeLine(models.Model):
    """One difference, as it was when the stocktake was closed, and what was done about it."""

    Kind = LineKind
    stocktake = models.ForeignKey(Stocktake, on_delete=models.PROTECT, related_name="lines")
    kind = models.CharField(max_length=12, choices=LineKind.choices)
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    container = models.ForeignKey("catalog.Place", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    sighting = models.ForeignKey(Sighting, on_delete=models.PROTECT, null=True, blank=True, related_name="lines")
    recorded = models.ForeignKey("catalog.Place", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    match = models.ForeignKey("catalog.Place", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    agree = models.PositiveIntegerField(null=True, blank=True, help_text="Of the seen content, on the other's list.")
    seen = models.PositiveIntegerField(null=True, blank=True, help_text="Pieces seen in it.")
    listed = models.PositiveIntegerField(null=True, blank=True, help_text="Pieces on the other's list.")
    resolved_at = models.DateTimeField(null=True, blank=True)
    resolved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    outcome = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            one_of("kind", LineKind, "stocktakeline_kind_known"),
            models.CheckConstraint(
                condition=Q(kind="missing", sighting__isnull=True)
                & (Q(piece__isnull=False, container__isnull=True) | Q(piece__isnull=True, container__isnull=False))
                | ~Q(kind="missing") & Q(sighting__isnull=False),
                name="stocktakeline_of_a_sighting_or_missing",
            ),
            models.CheckConstraint(
                condition=Q(kind="otherwise", match__isnull=False, agree__isnull=False)
                | ~Q(kind="otherwise") & Q(match__isnull=True),
                name="stocktakeline_match_named",
            ),
            models.CheckConstraint(
                condition=Q(resolved_at__isnull=True, resolved_by__isnull=True, outcome="")
                | Q(resolved_at__isnull=False, resolved_by__isnull=False) & ~Q(outcome=""),
                name="stocktakeline_resolved_by_somebody",
                violation_error_message="Say what was done about it.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.piece or self.container or self.sighting}"
