"""Kinds of crates, the crates of a loan, and what lies in each."""

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils import timezone

from catalog.core import history
from catalog.core.fields import between, not_blank
from catalog.loans.models import Loan, LoanLine
from catalog.storage.models import Place

history.allow("loan", ["crate", "crates", "crate_kind", "seal", "weighed_g", "computed_g", "packed"])
history.allow("house", ["crate_kind", "inner_mm", "outer_mm", "tare_g", "max_gross_g", "how_many"])


def _sides(prefix: str, name: str) -> models.CheckConstraint:
    condition = Q()
    for side in ("length", "width", "height"):
        condition &= Q(**{f"{prefix}_{side}_mm__range": (50, 10_000)})
    return models.CheckConstraint(
        condition=condition, name=name, violation_error_message="A side of a crate lies between 5 cm and 10 m."
    )


class CrateSpec(models.Model):
    """A kind of crate the house packs in: what it takes inside, what it is outside, and what it may weigh."""

    code = models.CharField(max_length=20)
    name = models.CharField(max_length=120)
    inner_length_mm = models.PositiveIntegerField()
    inner_width_mm = models.PositiveIntegerField()
    inner_height_mm = models.PositiveIntegerField()
    outer_length_mm = models.PositiveIntegerField()
    outer_width_mm = models.PositiveIntegerField()
    outer_height_mm = models.PositiveIntegerField()
    tare_g = models.PositiveIntegerField()
    max_gross_g = models.PositiveIntegerField(help_text="What it may weigh full, by how it is built and carried.")
    by_hand = models.BooleanField(default=True, help_text="Carried by two people at most; else by trolley or lift.")
    how_many = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Empty: as many as are needed.")
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(
                Lower("code"),
                name="cratespec_code_unique",
                violation_error_message="There is a kind of crate of this code.",
            ),
            not_blank(["code", "name"], "cratespec_named", "A kind of crate has a code and a name."),
            _sides("inner", "cratespec_inner_possible"),
            _sides("outer", "cratespec_outer_possible"),
            models.CheckConstraint(
                condition=Q(inner_length_mm__lte=F("outer_length_mm"))
                & Q(inner_width_mm__lte=F("outer_width_mm"))
                & Q(inner_height_mm__lte=F("outer_height_mm")),
                name="cratespec_inside_smaller",
                violation_error_message="A crate is not larger inside than outside.",
            ),
            models.CheckConstraint(
                condition=Q(tare_g__gte=1) & Q(max_gross_g__gt=F("tare_g")) & Q(max_gross_g__lte=2_000_000),
                name="cratespec_weights_possible",
                violation_error_message="A crate weighs something, and full it may weigh more than empty.",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def inner_mm(self) -> tuple[int, int, int]:
        """Length, width and height inside."""
        return self.inner_length_mm, self.inner_width_mm, self.inner_height_mm

    @property
    def outer_mm(self) -> tuple[int, int, int]:
        """Length, width and height outside."""
        return self.outer_length_mm, self.outer_width_mm, self.outer_height_mm


class PackCrate(models.Model):
    """A crate of one loan: its number on the list, its container in the store, its seals and what the scale said."""

    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="crates")
    number = models.PositiveSmallIntegerField()
    spec = models.ForeignKey(CrateSpec, on_delete=models.PROTECT, related_name="crates")
    place = models.OneToOneField(Place, on_delete=models.PROTECT, related_name="pack_crate")
    seal = models.CharField(max_length=120, blank=True)
    weighed_g = models.PositiveIntegerField(null=True, blank=True)
    weighed_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["loan", "number"]
        constraints = [
            models.UniqueConstraint(fields=["loan", "number"], name="packcrate_number_once"),
            models.CheckConstraint(condition=Q(number__gte=1), name="packcrate_counted_from_one"),
            between("weighed_g", 1, 2_000_000, "packcrate_weight_possible", "A crate weighs between 1 g and 2,000 kg."),
            models.CheckConstraint(
                condition=Q(weighed_g__isnull=True, weighed_at__isnull=True)
                | Q(weighed_g__isnull=False, weighed_at__isnull=False),
                name="packcrate_weighed_has_moment",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.loan} crate {self.number}"


class PackLine(models.Model):
    """A piece of the loan and the crate it lies in, or is meant for until it was scanned in."""

    crate = models.ForeignKey(PackCrate, on_delete=models.PROTECT, related_name="lines")
    line = models.OneToOneField(LoanLine, on_delete=models.PROTECT, related_name="packed")
    packed_at = models.DateTimeField(null=True, blank=True)
    packed_anyway = models.CharField(max_length=200, blank=True, help_text="Why it lies here against the question.")

    class Meta:
        ordering = ["crate", "line"]

    def __str__(self) -> str:
        return f"{self.line.piece} in {self.crate}"
