"""Size sheets, exclusions, ease bands, plans, make orders. Body data live here and nowhere else."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from catalog.core import history
from catalog.core.fields import between, not_blank, one_of
from catalog.loans.models import Call, Wearer
from catalog.pieces.models import Piece, Role, Slot
from catalog.pieces.production_models import Kinds

__all__ = ["EaseBand", "Exclusion", "ExclusionRule", "MakeOrder", "Plan", "PlanLine", "SizeSheet", "SizeValue"]

# Reading or deleting a sheet is told; what stands in it never is.
history.allow("call", ["sheet_layer", "sheets", "locked", "dressed", "made"])
history.allow(
    "house",
    ["band", "slot", "min_ease", "max_ease", "good_min", "good_max", "scale", "exclusion_rule", "setting", "value"],
)


class SizeSheetLayer(models.TextChoices):
    """Layer of a size sheet."""

    CARD = "card", "from the card"
    MEASURED = "measured", "measured by tape"
    FITTED = "fitted", "as fitted"


class SizeSheetShape(models.TextChoices):
    """Shape of a size sheet."""

    MEN = "m", "men's"
    WOMEN = "f", "women's"
    EITHER = "either", "either"


class SizeSheet(models.Model):
    """One set of sizes of a wearer: from a card, by tape, or as fitted. Deletes itself on its date."""

    Layer = SizeSheetLayer
    Shape = SizeSheetShape
    wearer = models.ForeignKey(Wearer, on_delete=models.CASCADE, related_name="sheets")
    layer = models.CharField(max_length=8, choices=Layer.choices)
    taken_on = models.DateField(null=True, blank=True)
    taken_by_name = models.CharField(max_length=120, blank=True)
    reference_shape = models.CharField(
        max_length=6,
        choices=Shape.choices,
        default=Shape.EITHER,
        help_text="Which survey the estimates lean on; not who a person is.",
    )
    height_mm = models.PositiveIntegerField(null=True, blank=True)
    weight_g = models.PositiveIntegerField(null=True, blank=True)
    consent = models.BooleanField(
        default=False, help_text="The performer agreed to the sizes being kept until the date."
    )
    guardian_consent = models.CharField(max_length=160, blank=True, help_text="For a minor: who agreed and when.")
    delete_on = models.DateField()

    class Meta:
        ordering = ["wearer", "layer"]
        constraints = [
            models.UniqueConstraint(
                fields=["wearer", "layer"],
                name="sizesheet_layer_once",
                violation_error_message="There is a sheet of this layer.",
            ),
            one_of("layer", SizeSheetLayer, "sizesheet_layer_known"),
            one_of("reference_shape", SizeSheetShape, "sizesheet_shape_known"),
            between("height_mm", 500, 2600, "sizesheet_height_possible", "A height lies between 50 and 260 cm."),
            between("weight_g", 5_000, 350_000, "sizesheet_weight_possible", "A weight lies between 5 and 350 kg."),
        ]

    def __str__(self) -> str:
        return f"{self.layer} sheet of {self.wearer}"


class SizeValue(models.Model):
    """One tape measure of a sheet, in mm."""

    sheet = models.ForeignKey(SizeSheet, on_delete=models.CASCADE, related_name="values")
    point = models.CharField(max_length=20)
    value_mm = models.PositiveIntegerField()

    class Meta:
        ordering = ["sheet", "id"]
        constraints = [
            models.UniqueConstraint(fields=["sheet", "point"], name="sizevalue_point_once"),
            between("value_mm", 50, 2600, "sizevalue_possible", "A tape measure lies between 5 and 260 cm."),
        ]

    def __str__(self) -> str:
        return f"{self.point} of {self.sheet}"


class Exclusion(models.Model):
    """Something a wearer must not wear. Yes or no; no reason is asked or kept."""

    wearer = models.ForeignKey(Wearer, on_delete=models.CASCADE, related_name="exclusions")
    rule = models.ForeignKey("catalog.ExclusionRule", on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["wearer", "rule"]
        constraints = [models.UniqueConstraint(fields=["wearer", "rule"], name="exclusion_once")]

    def __str__(self) -> str:
        return f"{self.rule} for {self.wearer}"


class ExclusionRule(models.Model):
    """What an exclusion rules out, as the house decides: materials, kinds, and kinds it spares."""

    code = models.CharField(max_length=40, unique=True)
    words = models.CharField(max_length=80)
    materials = models.JSONField(default=list, blank=True, help_text="Names of materials ruled out.")
    hazards = models.JSONField(default=list, blank=True, help_text="Hazard words that rule a piece out.")
    kinds = models.JSONField(default=list, blank=True, help_text="Kinds ruled out whatever they are made of.")
    spared_kinds = models.JSONField(default=list, blank=True, help_text="Kinds that the materials do not rule out.")

    class Meta:
        ordering = ["code"]
        constraints = [not_blank(["code", "words"], "exclusionrule_named", "An exclusion has a code and words.")]

    def __str__(self) -> str:
        return self.words


class EaseBandScale(models.TextChoices):
    """Scale of an ease band."""

    MM = "mm", "lengths"
    EU_SHOE = "eu_shoe", "EU shoe sizes"


class EaseBand(models.Model):
    """How much larger than the body a piece may be: for one slot, or for a kind when the slot says nothing.

    Ease is garment minus body: in mm, or in whole sizes on the EU shoe scale. A range that the piece carries
    itself (shortest and tallest wearer) is two one-sided bands. From good_min to good_max it sits well; empty: nobody
    has said.
    """

    Scale = EaseBandScale
    slot = models.ForeignKey(Slot, on_delete=models.PROTECT, null=True, blank=True, related_name="bands")
    kind = models.CharField(max_length=12, choices=Kinds.choices, blank=True)
    body_point = models.CharField(max_length=20)
    garment_point = models.CharField(max_length=20)
    min_ease = models.IntegerField(null=True, blank=True)
    max_ease = models.IntegerField(null=True, blank=True)
    good_min = models.IntegerField(null=True, blank=True)
    good_max = models.IntegerField(null=True, blank=True)
    uses_let_out = models.BooleanField(default=False)
    scale = models.CharField(max_length=8, choices=Scale.choices, default=Scale.MM)
    source = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["slot", "kind", "id"]
        constraints = [
            one_of("kind", Kinds, "easeband_kind_known", blank=True),
            one_of("scale", EaseBandScale, "easeband_scale_known"),
            models.CheckConstraint(
                condition=(Q(slot__isnull=False) & Q(kind="")) | (Q(slot__isnull=True) & ~Q(kind="")),
                name="easeband_slot_or_kind",
                violation_error_message="A band is for a slot or for a kind.",
            ),
            models.CheckConstraint(
                condition=Q(min_ease__isnull=False) | Q(max_ease__isnull=False),
                name="easeband_has_bound",
                violation_error_message="A band has a lower or an upper bound.",
            ),
            models.CheckConstraint(
                condition=Q(min_ease__isnull=True) | Q(max_ease__isnull=True) | Q(max_ease__gte=F("min_ease")),
                name="easeband_bounds_in_order",
                violation_error_message="The upper bound is not below the lower bound.",
            ),
            models.CheckConstraint(
                condition=Q(good_min__isnull=True, good_max__isnull=True)
                | Q(good_min__isnull=False, good_max__isnull=False, good_max__gte=F("good_min")),
                name="easeband_good_in_order",
                violation_error_message="A good range has both ends, the upper not below the lower.",
            ),
            models.CheckConstraint(
                condition=(Q(good_min__isnull=True) | Q(min_ease__isnull=True) | Q(good_min__gte=F("min_ease")))
                & (Q(good_max__isnull=True) | Q(max_ease__isnull=True) | Q(good_max__lte=F("max_ease"))),
                name="easeband_good_inside",
                violation_error_message="A good range lies inside what is wearable.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.body_point} to {self.garment_point}"


class Plan(models.Model):
    """A chosen assignment of a call. It names performers by their row, never by size."""

    call = models.ForeignKey(Call, on_delete=models.PROTECT, related_name="plans")
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    with_making = models.BooleanField(default=False)
    asked = models.PositiveSmallIntegerField()
    dressed = models.PositiveSmallIntegerField()
    whole_sets = models.PositiveSmallIntegerField(default=0)
    gap = models.FloatField(default=0)
    current = models.BooleanField(default=True)

    class Meta:
        ordering = ["-made_at"]
        constraints = [
            models.UniqueConstraint(fields=["call"], condition=Q(current=True), name="plan_one_current"),
            models.CheckConstraint(condition=Q(dressed__lte=F("asked")), name="plan_not_more_than_asked"),
        ]

    def __str__(self) -> str:
        return f"plan of {self.call}"


class PlanLine(models.Model):
    """One slot of one performer: the piece chosen, or none when it is to be made."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="lines")
    wearer = models.ForeignKey(Wearer, on_delete=models.PROTECT, related_name="plan_lines")
    role = models.ForeignKey(Role, on_delete=models.PROTECT, related_name="+")
    slot = models.ForeignKey(Slot, on_delete=models.PROTECT, related_name="+")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    locked = models.BooleanField(default=False)

    class Meta:
        ordering = ["plan", "wearer", "slot"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "wearer", "slot"], name="planline_slot_once"),
            models.UniqueConstraint(
                fields=["plan", "piece"], condition=Q(piece__isnull=False), name="planline_piece_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.wearer} {self.slot}"


class MakeOrder(models.Model):
    """A piece to be made for a performer, and the last days for it."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="make_orders")
    wearer = models.ForeignKey(Wearer, on_delete=models.PROTECT, related_name="+")
    slot = models.ForeignKey(Slot, on_delete=models.PROTECT, related_name="+")
    working_days = models.PositiveSmallIntegerField(null=True, blank=True)
    order_by = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["order_by", "id"]
        constraints = [models.UniqueConstraint(fields=["plan", "wearer", "slot"], name="makeorder_once")]

    def __str__(self) -> str:
        return f"{self.slot} for {self.wearer}"
