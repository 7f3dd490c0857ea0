"""The piece and what is known of it: parts, materials, what must match, measures, pictures, values."""

from typing import Self

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils import timezone

from catalog.access.permissions import Ability, can
from catalog.core import history
from catalog.core.fields import between, not_blank, one_of
from catalog.core.models import File
from catalog.pieces.calc.kinds import POINTS
from catalog.pieces.calc.numbers import TEMPORARY
from catalog.pieces.production_models import Kinds, Look, OutfitSet, Production, Role, Slot

history.allow(
    "piece",
    [
        "number",
        "name",
        "kind",
        "production",
        "role",
        "slot",
        "set",
        "multiple",
        "origin",
        "reference_piece",
        "owner",
        "owner_name",
        "materials",
        "weight_g",
        "packed_mm",
        "look",
        "size_mark",
        "note",
        "part",
        "measure",
        "match",
        "picture",
        "value",
        "currency",
        "basis",
        "valued_on",
        "made_year",
    ],
)


class MaterialFamily(models.TextChoices):
    """Family of a material."""

    CLOTH = "cloth", "cloth"
    KNIT = "knit", "knit"
    LEATHER = "leather", "leather, skin"
    FUR = "fur", "fur, hair, feather"
    METAL = "metal", "metal"
    HARD_PLASTIC = "hard plastic", "hard plastic, resin, glass cloth"
    FOAM_RUBBER = "foam rubber", "foam, rubber, latex"
    SOFT_PVC = "soft pvc", "soft PVC"
    FINISH = "finish", "paint, finish, wax"
    WOOD = "wood", "wood, cane, straw"
    ELECTRIC = "electric", "electric, mechanism"
    PAPER = "paper", "paper, card"
    GLASS = "glass", "glass, ceramic"
    OTHER = "other", "other"


class Material(models.Model):
    """What a piece is made of, in the archive's words; the family says which damage words and rules apply."""

    Family = MaterialFamily
    name = models.CharField(max_length=80)
    family = models.CharField(max_length=12, choices=Family.choices, default=Family.OTHER)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"), name="material_name_unique", violation_error_message="There is a material of this name."
            ),
            one_of("family", MaterialFamily, "material_family_known"),
            not_blank(["name"], "material_named", "A material has a name."),
        ]

    def __str__(self) -> str:
        return self.name


class PieceMultiple(models.TextChoices):
    """Multiple of a piece."""

    HERO = "hero", "hero"
    STUNT = "stunt", "stunt"
    DOUBLE = "double", "double"
    BACKGROUND = "background", "background"
    UNDERSTUDY = "understudy", "understudy"
    RAIN = "rain", "rain"
    CLEAN = "clean", "clean"


class PieceOrigin(models.TextChoices):
    """Origin of a piece."""

    ORIGINAL = "original", "original"
    REPLICA = "replica", "replica"
    REFERENCE = "reference", "reference"


class PieceOwner(models.TextChoices):
    """Owner of a piece."""

    OURS = "ours", "ours"
    HIRED = "hired in", "hired in"
    PERFORMER = "performer's own", "a performer's own"


class PieceQuerySet(models.QuerySet["Piece"]):
    """Pieces, and who may see them."""

    def seen_by(self, user: AbstractBaseUser | AnonymousUser) -> Self:
        """Without the pieces of closed productions for whoever is no staff."""
        return self if can(user, Ability.SEE_STAFF) else self.filter(production__closed=False)


class Piece(models.Model):
    """One thing with its own number: a coat, a pair of boots, a helmet, a model."""

    Multiple = PieceMultiple
    Origin = PieceOrigin
    Owner = PieceOwner
    number = models.CharField(max_length=30)
    name = models.CharField(max_length=160)
    kind = models.CharField(max_length=12, choices=Kinds.choices)
    production = models.ForeignKey(Production, on_delete=models.PROTECT, related_name="pieces")
    role = models.ForeignKey(Role, on_delete=models.PROTECT, null=True, blank=True, related_name="pieces")
    slot = models.ForeignKey(Slot, on_delete=models.PROTECT, null=True, blank=True, related_name="pieces")
    set = models.ForeignKey(OutfitSet, on_delete=models.PROTECT, null=True, blank=True, related_name="pieces")
    multiple = models.CharField(max_length=12, choices=Multiple.choices, blank=True)
    origin = models.CharField(max_length=10, choices=Origin.choices, default=Origin.ORIGINAL)
    reference_piece = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="replicas"
    )
    made_year = models.PositiveSmallIntegerField(null=True, blank=True)
    owner = models.CharField(max_length=16, choices=Owner.choices, default=Owner.OURS)
    owner_name = models.CharField(max_length=120, blank=True)
    materials = models.ManyToManyField(Material, blank=True, related_name="pieces")
    weight_g = models.PositiveIntegerField(null=True, blank=True)
    packed_length_mm = models.PositiveIntegerField(null=True, blank=True)
    packed_width_mm = models.PositiveIntegerField(null=True, blank=True)
    packed_height_mm = models.PositiveIntegerField(null=True, blank=True)
    look = models.ForeignKey(Look, on_delete=models.PROTECT, null=True, blank=True, related_name="pieces")
    size_mark = models.CharField(max_length=20, blank=True, help_text="What the label in it claims; not how it fits.")
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=timezone.now)

    objects = PieceQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(
                Lower("number"),
                name="piece_number_unique",
                violation_error_message="This number is taken; numbers are never reused.",
            ),
            not_blank(["number", "name"], "piece_named", "A piece has a number and a name."),
            models.CheckConstraint(
                condition=~Q(number__istartswith=TEMPORARY),
                name="piece_number_not_temporary",
                violation_error_message=f"{TEMPORARY} begins the temporary numbers of found things.",
            ),
            one_of("kind", Kinds, "piece_kind_known"),
            one_of("multiple", PieceMultiple, "piece_multiple_known", blank=True),
            one_of("origin", PieceOrigin, "piece_origin_known"),
            one_of("owner", PieceOwner, "piece_owner_known"),
            between("weight_g", 1, 2_000_000, "piece_weight_possible", "A piece weighs between 1 g and 2,000 kg."),
            models.CheckConstraint(
                condition=Q(slot__isnull=True) | Q(role__isnull=False),
                name="piece_slot_needs_role",
                violation_error_message="A slot belongs to a role: choose the role too.",
            ),
            models.CheckConstraint(
                condition=Q(set__isnull=True) | Q(role__isnull=False),
                name="piece_set_needs_role",
                violation_error_message="A set belongs to a role: choose the role too.",
            ),
            models.CheckConstraint(
                condition=Q(reference_piece__isnull=True) | ~Q(reference_piece=F("id")),
                name="piece_not_own_reference",
                violation_error_message="A piece cannot be copied from itself.",
            ),
            models.CheckConstraint(
                condition=Q(owner="ours") | ~Q(owner_name=""),
                name="piece_owner_named",
                violation_error_message="Say who owns it.",
            ),
        ]
        indexes = [models.Index(fields=["role", "slot"], name="piece_role_slot")]

    def __str__(self) -> str:
        return self.number

    @property
    def subject(self) -> history.Subject:
        """What this piece's history lines are about."""
        return history.Subject("piece", self.number)


class PartSide(models.TextChoices):
    """Side of a part."""

    LEFT = "left", "wearer's left"
    RIGHT = "right", "wearer's right"
    NONE = "", "no side"


class Part(models.Model):
    """Something of a piece that can get lost alone: a left boot, a badge."""

    Side = PartSide
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="parts")
    letter = models.CharField(max_length=2)
    name = models.CharField(max_length=80)
    side = models.CharField(max_length=5, choices=Side.choices, blank=True)
    missing_since = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["piece", "letter"]
        constraints = [
            models.UniqueConstraint(
                "piece",
                Lower("letter"),
                name="part_letter_once",
                violation_error_message="The piece has a part of this letter.",
            ),
            one_of("side", PartSide, "part_side_known"),
            not_blank(["letter", "name"], "part_named", "A part has a letter and a name."),
        ]

    def __str__(self) -> str:
        return f"{self.piece}{self.letter}"


class MatchValue(models.Model):
    """What must agree with the other pieces of a set: group "ring", value "A"."""

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="matches")
    group = models.CharField(max_length=30)
    value = models.CharField(max_length=30)

    class Meta:
        ordering = ["piece", "group"]
        constraints = [
            models.UniqueConstraint(
                "piece",
                Lower("group"),
                name="matchvalue_once",
                violation_error_message="The piece has a value in this group.",
            ),
            not_blank(["group", "value"], "matchvalue_named", "Name the group and the value."),
        ]

    def __str__(self) -> str:
        return f"{self.group} {self.value}"


class MeasureTrust(models.TextChoices):
    """Trust of a measure."""

    MEASURED = "measured", "measured"
    MARKED = "marked", "as marked"
    LISTED = "listed", "from an old list"


def _possible_measures() -> Q:
    """Each known point with its own bounds: the form and the action ask kinds.impossible, the database asks this."""
    condition = Q()
    for point in POINTS.values():
        within = Q(value_mm__isnull=True) | Q(value_mm__range=(point.low_mm, point.high_mm))
        condition |= Q(point=point.key) & within
    return condition


class Measure(models.Model):
    """One point of a piece: its value, or why it was not measured. The old value stays in the history."""

    Trust = MeasureTrust
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="measures")
    point = models.CharField(max_length=20)
    value_mm = models.PositiveIntegerField(null=True, blank=True)
    let_out_mm = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Spare cloth in the seam.")
    trust = models.CharField(max_length=10, choices=Trust.choices, default=Trust.MEASURED)
    how = models.CharField(max_length=120, blank=True)
    not_measured_because = models.CharField(max_length=120, blank=True)
    taken_on = models.DateField(null=True, blank=True)
    taken_by = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["piece", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece", "point"],
                name="measure_point_once",
                violation_error_message="This point has a measure; correct it.",
            ),
            models.CheckConstraint(
                condition=_possible_measures(),
                name="measure_possible",
                violation_error_message="This measure cannot be right for its point.",
            ),
            between("let_out_mm", 0, 500, "measure_let_out_possible", "A let-out reserve lies between 0 and 50 cm."),
            one_of("trust", MeasureTrust, "measure_trust_known"),
            models.CheckConstraint(
                condition=Q(value_mm__isnull=False, not_measured_because="")
                | (Q(value_mm__isnull=True) & ~Q(not_measured_because="")),
                name="measure_value_or_reason",
                violation_error_message="Give the measure, or why it was not measured.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.piece} {self.point}"


class PieceFileView(models.TextChoices):
    """View of a piece file."""

    FRONT = "front", "front"
    BACK = "back", "back"
    LEFT = "left", "wearer's left"
    RIGHT = "right", "wearer's right"
    INSIDE = "inside", "inside"
    TAG = "tag", "tag"
    DETAIL = "detail", "detail"


class PieceFile(models.Model):
    """A picture of a piece and its view."""

    View = PieceFileView
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="pictures")
    file = models.ForeignKey(File, on_delete=models.PROTECT, related_name="+")
    view = models.CharField(max_length=8, choices=View.choices, default=View.FRONT)
    caption = models.CharField(max_length=160, blank=True)
    main = models.BooleanField(default=False)
    added_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["piece", "-main", "id"]
        constraints = [
            models.UniqueConstraint(fields=["piece"], condition=Q(main=True), name="piecefile_one_main"),
            models.UniqueConstraint(
                fields=["piece", "file"], name="piecefile_once", violation_error_message="The piece has this picture."
            ),
            one_of("view", PieceFileView, "piecefile_view_known"),
        ]

    def __str__(self) -> str:
        return f"{self.piece} {self.view}"


class ValuationBasis(models.TextChoices):
    """Basis of a valuation."""

    REMAKE = "remake", "replacement by remake"
    AGREED = "agreed", "agreed value"
    MARKET = "market", "market"
    LISTED = "listed", "from an old list"


class Valuation(models.Model):
    """What a piece was valued at, on what basis. Rows are only added; "not valued" is having none."""

    Basis = ValuationBasis
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="valuations")
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    currency = models.CharField(max_length=3)
    basis = models.CharField(max_length=8, choices=Basis.choices, default=Basis.AGREED)
    valued_on = models.DateField()
    valued_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["piece", "-valued_on", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount__gte=0),
                name="valuation_not_negative",
                violation_error_message="A value is not below 0.",
            ),
            one_of("basis", ValuationBasis, "valuation_basis_known"),
        ]

    def __str__(self) -> str:
        return f"{self.piece} {self.valued_on}"
