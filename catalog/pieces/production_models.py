"""Productions and what they dressed: roles, looks, slots, sets."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from catalog.core import history
from catalog.core.fields import not_blank, one_of
from catalog.pieces.calc.kinds import KINDS

history.allow("production", ["title", "year", "world", "closed", "look"])
history.allow(
    "role", ["production", "name", "sort", "sets_made", "slot", "kind", "required", "match_group", "set", "make_days"]
)


class Kinds(models.TextChoices):
    """The kinds as choices for tables and forms; the facts about each are in calc/kinds.py."""

    COAT = "coat", KINDS["coat"].word
    WAISTCOAT = "waistcoat", KINDS["waistcoat"].word
    SHIRT = "shirt", KINDS["shirt"].word
    GOWN = "gown", KINDS["gown"].word
    TROUSERS = "trousers", KINDS["trousers"].word
    SUIT = "suit", KINDS["suit"].word
    KNIT = "knit", KINDS["knit"].word
    STIFF = "stiff", KINDS["stiff"].word
    HELMET = "helmet", KINDS["helmet"].word
    HAT = "hat", KINDS["hat"].word
    BOOTS = "boots", KINDS["boots"].word
    GLOVES = "gloves", KINDS["gloves"].word
    BELT = "belt", KINDS["belt"].word
    CLOAK = "cloak", KINDS["cloak"].word
    JEWEL = "jewel", KINDS["jewel"].word
    CREATURE = "creature", KINDS["creature"].word
    PUPPET = "puppet", KINDS["puppet"].word
    MODEL = "model", KINDS["model"].word
    PROP = "prop", KINDS["prop"].word
    WEAPON = "weapon", KINDS["weapon"].word
    DRESSING = "dressing", KINDS["dressing"].word
    OTHER = "other", KINDS["other"].word


class Production(models.Model):
    """A film or series whose pieces the archive keeps. Closed productions are hidden from visitors."""

    code = models.CharField(max_length=12)
    title = models.CharField(max_length=160)
    year = models.PositiveSmallIntegerField(null=True, blank=True)
    world = models.CharField(max_length=300, blank=True)
    closed = models.BooleanField(default=False, help_text="Closed productions are hidden from visitors.")

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(
                Lower("code"),
                name="production_code_unique",
                violation_error_message="There is a production of this code.",
            ),
            not_blank(["code", "title"], "production_named", "A production has a code and a title."),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.title}"

    @property
    def subject(self) -> history.Subject:
        """What the lines about this production and its looks are about."""
        return history.Subject("production", self.code)


class Look(models.Model):
    """How a role is dressed at one point of the story: clean, after the storm."""

    production = models.ForeignKey(Production, on_delete=models.PROTECT, related_name="looks")
    name = models.CharField(max_length=60)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["production", "name"]
        constraints = [
            models.UniqueConstraint(
                "production", Lower("name"), name="look_once", violation_error_message="The production has this look."
            ),
            not_blank(["name"], "look_named", "A look has a name."),
        ]

    def __str__(self) -> str:
        return self.name


class RoleSort(models.TextChoices):
    """Sort of a role."""

    BACKGROUND = "background", "background"
    PRINCIPAL = "principal", "principal"
    CREATURE = "creature", "creature"


class Role(models.Model):
    """Who is being dressed."""

    Sort = RoleSort
    production = models.ForeignKey(Production, on_delete=models.PROTECT, related_name="roles")
    code = models.CharField(max_length=12)
    name = models.CharField(max_length=120)
    sort = models.CharField(max_length=12, choices=Sort.choices, default=Sort.BACKGROUND)
    sets_made = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["production", "code"]
        constraints = [
            models.UniqueConstraint(
                Lower("code"), name="role_code_unique", violation_error_message="There is a role of this code."
            ),
            one_of("sort", RoleSort, "role_sort_known"),
            not_blank(["code", "name"], "role_named", "A role has a code and a name."),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def subject(self) -> history.Subject:
        """What the lines about this role, its slots and sets are about."""
        return history.Subject("role", self.code)


class Slot(models.Model):
    """A place in a set to be filled: boots, helmet. Slots of a role in one match group must agree in its value."""

    role = models.ForeignKey(Role, on_delete=models.PROTECT, related_name="slots")
    code = models.CharField(max_length=30)
    name = models.CharField(max_length=160)
    kind = models.CharField(max_length=12, choices=Kinds.choices)
    order = models.PositiveSmallIntegerField(default=0)
    required = models.BooleanField(default=True)
    fits_anybody = models.BooleanField(default=False, help_text="A hand prop: no size is asked.")
    match_group = models.CharField(max_length=30, blank=True, help_text="For example: ring, dye lot.")
    usual_materials = models.ManyToManyField("catalog.Material", blank=True, related_name="+")
    usual_weight_g = models.PositiveIntegerField(null=True, blank=True)
    make_days = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Working days to make one.")

    class Meta:
        ordering = ["role", "order", "code"]
        constraints = [
            models.UniqueConstraint(
                "role", Lower("code"), name="slot_once_in_role", violation_error_message="The role has this slot."
            ),
            one_of("kind", Kinds, "slot_kind_known"),
            not_blank(["code", "name"], "slot_named", "A slot has a code and a name."),
        ]

    def __str__(self) -> str:
        return self.name


class OutfitSet(models.Model):
    """Pieces that were worn together. Whether the set is whole is worked out, never stored."""

    role = models.ForeignKey(Role, on_delete=models.PROTECT, related_name="sets")
    code = models.CharField(max_length=30)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(
                Lower("code"), name="outfitset_code_unique", violation_error_message="There is a set of this code."
            ),
            models.CheckConstraint(
                condition=~Q(code=""), name="outfitset_named", violation_error_message="A set has a code."
            ),
        ]

    def __str__(self) -> str:
        return self.code
