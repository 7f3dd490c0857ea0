"""Places and containers, where each piece stands, moves, labels, missing files."""

from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.expressions import RawSQL
from django.db.models.functions import Lower
from django.utils import timezone

from catalog.core import history
from catalog.core.fields import between, not_blank, one_of
from catalog.pieces.models import Piece
from catalog.storage.stocktake_models import Sighting, Stocktake, StocktakeDrawn, StocktakeLine, StocktakeStop

__all__ = [
    "Label",
    "MissingFile",
    "Move",
    "Place",
    "Sighting",
    "Standing",
    "Stocktake",
    "StocktakeDrawn",
    "StocktakeLine",
    "StocktakeStop",
]

history.allow("piece", ["home", "place", "state", "label", "missing", "search"])
history.allow(
    "place",
    [
        "code",
        "name",
        "kind",
        "parent",
        "home",
        "state",
        "order",
        "note",
        "label",
        "missing",
        "search",
        "tare_g",
        "needs_steps",
        "climate",
        "width_mm",
        "measured_by",
        "takes_count",
    ],
)


class State(models.TextChoices):
    """Where a piece or container stands. "Not found" is a state, not a place."""

    IN_STORE = "in store", "in store"
    OUT = "out", "out"
    TREATMENT = "at treatment", "at treatment"
    NOT_FOUND = "not found", "not found"


class PlaceKind(models.TextChoices):
    """Kind of a place."""

    SITE = "site", "site"
    ROOM = "room", "room"
    RACK = "rack", "rack"
    BAY = "bay", "bay"
    LEVEL = "level", "level"
    SHELF = "shelf", "shelf"
    RAIL = "rail", "rail"
    CABINET = "cabinet", "cabinet"
    BENCH = "bench", "bench"
    DOCK = "dock", "dock floor"
    QUARANTINE = "quarantine", "quarantine"
    FREEZER = "freezer", "freezer"
    AWAY = "away", "away"
    TRUNK = "trunk", "trunk"
    CRATE = "crate", "crate"
    BOX = "box", "box"
    MOVING_RAIL = "moving rail", "rail on wheels"


class RoomMeasure(models.TextChoices):
    """By what a place is filled; empty where nobody has said."""

    HANGING = "hanging length", "hanging: things hang along its width"
    SHELF = "shelf length", "laying: things lie or stand along its width"


# UNION (not UNION ALL) leaves out what was seen, so that even a broken tree ends the walk.
_UNDER = (
    "WITH RECURSIVE under(id) AS (SELECT id FROM catalog_place WHERE id = %s UNION "
    "SELECT p.id FROM catalog_place p JOIN under u ON p.parent_id = u.id) SELECT id FROM under"
)


class PlaceQuerySet(models.QuerySet["Place"]):
    """Places, and what lies in them; one query at any depth on either database, usable as a subquery."""

    def descendants(self, place: "Place", *, include_self: bool = False) -> Self:
        """Everything that lies in the place, shelves and containers, at any depth."""
        inside = self.filter(id__in=RawSQL(_UNDER, [place.pk]))  # noqa: S611 - our own text, the id is a parameter
        return inside if include_self else inside.exclude(pk=place.pk)


class Place(models.Model):
    """A site, room, rack or shelf; or a container that moves (trunk, crate, box, rail).

    `parent` is where it is now. A container also has a home. Moving a container moves what is in it.
    """

    Kind = PlaceKind
    CONTAINERS = (Kind.TRUNK, Kind.CRATE, Kind.BOX, Kind.MOVING_RAIL)

    code = models.CharField(max_length=30)
    name = models.CharField(max_length=160)
    kind = models.CharField(max_length=12, choices=Kind.choices)
    parent = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="children")
    home = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    state = models.CharField(max_length=12, choices=State.choices, default=State.IN_STORE)
    order = models.PositiveIntegerField(default=0, help_text="Walking order among its neighbours.")
    target_c_tenths = models.SmallIntegerField(null=True, blank=True)
    target_rh = models.PositiveSmallIntegerField(null=True, blank=True)
    width_mm = models.PositiveIntegerField(null=True, blank=True)
    measured_by = models.CharField(
        max_length=14, choices=RoomMeasure.choices, blank=True, default="", help_text="How its width is used up."
    )
    takes_count = models.PositiveIntegerField(null=True, blank=True, help_text="How many things it takes.")
    needs_steps = models.BooleanField(default=False)
    tare_g = models.PositiveIntegerField(null=True, blank=True, help_text="Weight of the empty container.")
    last_seen = models.DateField(null=True, blank=True)
    last_seen_by = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=300, blank=True)

    objects = PlaceQuerySet.as_manager()

    class Meta:
        ordering = ["order", "code"]
        constraints = [
            models.UniqueConstraint(
                Lower("code"), name="place_code_unique", violation_error_message="There is a place of this code."
            ),
            not_blank(["code", "name"], "place_named", "A place has a code and a name."),
            one_of("kind", PlaceKind, "place_kind_known"),
            one_of("state", State, "place_state_known"),
            models.CheckConstraint(condition=Q(measured_by__in=["", *RoomMeasure.values]), name="place_measure_known"),
            models.CheckConstraint(
                condition=Q(parent__isnull=True) | ~Q(parent=F("id")),
                name="place_not_in_itself",
                violation_error_message="A place cannot lie in itself.",
            ),
            models.CheckConstraint(
                condition=Q(home__isnull=True) | Q(kind__in=["trunk", "crate", "box", "moving rail"]),
                name="place_only_containers_have_homes",
                violation_error_message="Only a container has a home: a shelf stays where it is.",
            ),
            between("target_rh", 0, 100, "place_rh_possible", "Humidity lies between 0 and 100 %."),
            between("target_c_tenths", -400, 400, "place_temperature_possible", "A room lies between -40 and 40 °C."),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def is_container(self) -> bool:
        """Whether it moves: a trunk, crate, box or rail on wheels."""
        return self.kind in self.CONTAINERS

    @property
    def subject(self) -> history.Subject:
        """What this place's history lines are about."""
        return history.Subject("place", self.code)


class Standing(models.Model):
    """Where a piece stands now: one row a piece, kept beside its history lines in the same transaction."""

    piece = models.OneToOneField(Piece, on_delete=models.PROTECT, related_name="standing")
    home = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="homed")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="standings")
    state = models.CharField(max_length=12, choices=State.choices, default=State.IN_STORE)
    since = models.DateTimeField(default=timezone.now)
    last_seen = models.DateField(null=True, blank=True)
    last_seen_by = models.CharField(max_length=120, blank=True)

    class Meta:
        constraints = [
            one_of("state", State, "standing_state_known"),
            models.CheckConstraint(
                condition=~Q(state="in store") | Q(place__isnull=False),
                name="standing_in_store_has_place",
                violation_error_message="A piece in store has a place.",
            ),
        ]
        indexes = [models.Index(fields=["state", "last_seen"], name="standing_state_seen")]

    def __str__(self) -> str:
        return f"{self.piece} {self.state}"


class Move(models.Model):
    """One move of a piece or of a container. Rows are only added."""

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="moves")
    container = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="moves")
    from_place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    to_place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    happened = models.DateTimeField()
    recorded = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    by_name = models.CharField(max_length=120)
    reason = models.CharField(max_length=200, blank=True)
    client_id = models.UUIDField(null=True, blank=True, unique=True, help_text="A repeated scan adds nothing.")
    undoes = models.OneToOneField(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="undone_by",
        help_text="The mistaken move that this one takes back. A move is taken back once.",
    )
    seen_before = models.DateField(null=True, blank=True, help_text="Last sighting before it, should it be undone.")
    seen_before_by = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-happened", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(piece__isnull=False, container__isnull=True)
                | Q(piece__isnull=True, container__isnull=False),
                name="move_one_subject",
                violation_error_message="A move is of one piece or of one container.",
            ),
            models.CheckConstraint(
                condition=Q(undoes__isnull=True) | ~Q(undoes=F("id")),
                name="move_undoes_another",
                violation_error_message="A move cannot take itself back.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.piece or self.container} to {self.to_place}"


class LabelLetter(models.TextChoices):
    """Letter of a label."""

    PIECE = "P", "piece"
    CONTAINER = "C", "container"
    PLACE = "L", "place"
    BLANK = "B", "blank, bound later"


class Label(models.Model):
    """A printed code. A blank is bound later; an old label still leads to its thing."""

    Letter = LabelLetter
    code = models.CharField(max_length=7, unique=True)
    letter = models.CharField(max_length=1, choices=Letter.choices)
    serial = models.PositiveIntegerField()
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="labels")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="labels")
    made_at = models.DateTimeField(default=timezone.now)
    bound_at = models.DateTimeField(null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True, help_text="Replaced; it still leads to its thing.")

    class Meta:
        ordering = ["letter", "serial"]
        constraints = [
            models.UniqueConstraint(fields=["letter", "serial"], name="label_serial_once"),
            one_of("letter", LabelLetter, "label_letter_known"),
            models.CheckConstraint(
                condition=Q(piece__isnull=True) | Q(place__isnull=True),
                name="label_one_thing",
                violation_error_message="A label leads to one thing.",
            ),
            models.CheckConstraint(
                condition=Q(letter="B") | Q(piece__isnull=False) | Q(place__isnull=False),
                name="label_only_blanks_unbound",
                violation_error_message="Only a blank may lead nowhere yet.",
            ),
        ]

    def __str__(self) -> str:
        return self.code


class MissingFile(models.Model):
    """A piece or container that could not be found, and the search for it. Never deleted."""

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="missing_files")
    container = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="missing_files")
    opened_on = models.DateField()
    last_place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    last_seen = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    closed_on = models.DateField(null=True, blank=True)
    outcome = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering = ["-opened_on", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece"], condition=Q(closed_on__isnull=True), name="missingfile_one_open_piece"
            ),
            models.UniqueConstraint(
                fields=["container"], condition=Q(closed_on__isnull=True), name="missingfile_one_open_container"
            ),
            models.CheckConstraint(
                condition=Q(piece__isnull=False, container__isnull=True)
                | Q(piece__isnull=True, container__isnull=False),
                name="missingfile_one_subject",
            ),
            models.CheckConstraint(
                condition=Q(closed_on__isnull=True) | ~Q(outcome=""),
                name="missingfile_outcome_named",
                violation_error_message="Say how the search ended.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.piece or self.container} missing"
