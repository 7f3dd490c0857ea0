"""Parts of animals and plants in a piece: what a permit office asks about them."""

from django.db import models
from django.db.models import Q

from catalog.core import history
from catalog.core.fields import between, one_of
from catalog.pieces.models import Piece

__all__ = ["WildPart"]

history.allow("piece", ["wild_part"])


class WildPartGroup(models.TextChoices):
    """Group of a part of an animal or plant."""

    BIRD_FEATHER = "bird feather", "bird feather"
    EAGLE = "eagle", "eagle"
    GREAT_WHALE = "great whale", "great whale"
    ELEPHANT_IVORY = "elephant ivory", "elephant ivory"
    SEAL = "seal", "seal"
    BIG_CAT = "big cat", "big cat"
    CROCODILIAN = "crocodilian", "crocodilian"
    SNAKE = "snake", "snake"
    SEA_TURTLE = "sea turtle", "sea turtle"
    ROSEWOOD = "rosewood", "rosewood"
    OTHER_ANIMAL = "other animal", "other animal"
    OTHER_PLANT = "other plant", "other plant"


class WildPartListing(models.TextChoices):
    """Appendix of the convention on trade in endangered species on which the species stands."""

    FIRST = "I", "Appendix I, the strictest"
    SECOND = "II", "Appendix II"
    THIRD = "III", "Appendix III"
    NONE = "none", "on no list"


class WildPart(models.Model):
    """One part of an animal or plant in a piece. What is unknown stays unknown and never counts as harmless."""

    Group = WildPartGroup
    Listing = WildPartListing
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="wild_parts")
    what = models.CharField(max_length=120, blank=True, help_text="Species and part in words.")
    group = models.CharField(max_length=20, choices=WildPartGroup.choices, blank=True)
    listing = models.CharField(max_length=4, choices=WildPartListing.choices, blank=True)
    obtained_year = models.PositiveSmallIntegerField(null=True, blank=True)
    share_percent = models.PositiveSmallIntegerField(null=True, blank=True)
    wood_g = models.PositiveIntegerField(null=True, blank=True)
    farmed = models.BooleanField(null=True, blank=True)
    named_by = models.CharField(max_length=120, blank=True, help_text="Who named the species, or which paper.")
    gone_on = models.DateField(null=True, blank=True, help_text="Taken off for good.")

    class Meta:
        ordering = ["piece", "id"]
        constraints = [
            one_of("group", WildPartGroup, "wildpart_group_known", blank=True),
            one_of("listing", WildPartListing, "wildpart_listing_known", blank=True),
            between("share_percent", 0, 100, "wildpart_share_possible", "A share lies between 0 and 100 %."),
            between("obtained_year", 1000, 2200, "wildpart_year_possible", "A year has four digits, for example 1930."),
            models.CheckConstraint(
                condition=Q(listing="") | ~Q(named_by=""),
                name="wildpart_listing_has_a_name_behind_it",
                violation_error_message="Say who named the species, or which paper does, before a list is chosen.",
            ),
        ]

    def __str__(self) -> str:
        return self.what or self.group or "part of an animal or plant"
