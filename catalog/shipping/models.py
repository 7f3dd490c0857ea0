"""Travel rules as rows, and the verdicts made from them."""

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Length, Upper
from django.db.models.lookups import Exact
from django.utils import timezone

from catalog.core import history
from catalog.core.fields import not_blank, one_of
from catalog.loans.models import Call
from catalog.pieces.models import Piece

__all__ = ["Route", "RuleRow", "Verdict"]

history.allow("house", ["rule", "rule_version", "replaces"])
history.allow("call", ["route", "comes_back", "wood"])


class RuleRowOutcome(models.TextChoices):
    """Outcome of a rule row."""

    MAY = "may", "may"
    CONDITIONS = "conditions", "with conditions"
    SPECIALIST = "specialist", "specialist needed"
    UNKNOWN = "unknown", "unknown"
    STAYS = "stays", "stays"


class RuleRowConfidence(models.TextChoices):
    """Confidence of a rule row."""

    FOUND = "F", "found in the issuing body's own text"
    SECOND_HAND = "F2", "found in a secondary page"
    MEMORY = "M", "from memory"
    COMPUTED = "C", "computed and cross-checked"
    HOUSE = "H", "house rule"


class RuleRowOrigin(models.TextChoices):
    """Where a rule row comes from."""

    STARTING = "starting", "starting set"
    HOUSE = "house", "of the house"


class RouteWood(models.TextChoices):
    """Solid wood among crates, battens and pallets."""

    NONE = "none", "no solid wood over 6 mm"
    MARKED = "marked", "solid wood with the mark of treatment"
    UNMARKED = "unmarked", "solid wood without the mark"


def _two_capitals(field: str) -> Q:
    """No pattern stands in a constraint: SQLite has none of its own, so no other program could copy the tables."""
    return Q(Exact(Length(field), 2)) & Q(Exact(F(field), Upper(field)))


class Route(models.Model):
    """The countries that a call's shipment starts in, passes and is used in, and whether all of it comes back."""

    Wood = RouteWood
    call = models.OneToOneField(Call, on_delete=models.PROTECT, related_name="route")
    start = models.CharField(max_length=2)
    goal = models.CharField(max_length=2)
    through = models.JSONField(default=list, blank=True, help_text="Countries passed on the way out, in order.")
    comes_back = models.BooleanField(null=True, blank=True)
    wood = models.CharField(max_length=8, choices=RouteWood.choices, blank=True)

    class Meta:
        ordering = ["call"]
        constraints = [
            models.CheckConstraint(
                condition=_two_capitals("start") & _two_capitals("goal"),
                name="route_countries_are_codes",
                violation_error_message="A country is its two letters, for example GB.",
            ),
            one_of("wood", RouteWood, "route_wood_known", blank=True),
        ]

    def __str__(self) -> str:
        return " to ".join([self.start, *self.through, self.goal])


class RuleRow(models.Model):
    """One travel rule: what triggers it, what it says, and where it comes from. A changed rule is a new version.

    A row of the house stands on top of the starting set; where it replaces one of these, that one stays to be read.
    """

    Origin = RuleRowOrigin

    Outcome = RuleRowOutcome
    Confidence = RuleRowConfidence
    code = models.CharField(max_length=60)
    version = models.PositiveSmallIntegerField(default=1)
    trigger = models.JSONField()
    modes = models.JSONField(help_text="Ways of travel it speaks of.")
    verdict = models.CharField(max_length=12, choices=Outcome.choices)
    reason = models.CharField(max_length=600)
    condition = models.CharField(max_length=900, blank=True)
    papers = models.JSONField(default=list, blank=True)
    source = models.CharField(max_length=600)
    edition = models.CharField(max_length=300, blank=True)
    jurisdiction = models.CharField(max_length=200, blank=True)
    confidence = models.CharField(max_length=2, choices=Confidence.choices)
    checked_on = models.DateField(null=True, blank=True)
    active = models.BooleanField(default=True)
    origin = models.CharField(max_length=8, choices=RuleRowOrigin.choices, default=RuleRowOrigin.STARTING)
    replaces = models.CharField(max_length=60, blank=True, help_text="The code of a row that this one stands for.")
    since = models.DateTimeField(default=timezone.now, help_text="In force from.")
    until = models.DateTimeField(null=True, blank=True, help_text="In force no longer from.")

    class Meta:
        ordering = ["code", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["code", "version"], name="rulerow_version_once"),
            models.UniqueConstraint(fields=["code"], condition=Q(active=True), name="rulerow_one_active"),
            one_of("verdict", RuleRowOutcome, "rulerow_verdict_known"),
            one_of("origin", RuleRowOrigin, "rulerow_origin_known"),
            models.CheckConstraint(
                condition=Q(replaces="") | Q(origin=RuleRowOrigin.HOUSE),
                name="rulerow_only_the_house_replaces",
                violation_error_message="Only a rule of the house replaces another.",
            ),
            one_of("confidence", RuleRowConfidence, "rulerow_confidence_known"),
            not_blank(["code", "reason", "source"], "rulerow_named", "A rule has a code, a reason and a source."),
        ]

    def __str__(self) -> str:
        return f"{self.code} v{self.version}"

    @property
    def mode_words(self) -> str:
        """The ways of travel in words."""
        return ", ".join(mode.replace("_", " ") for mode in self.modes)


class Verdict(models.Model):
    """What was answered for a piece and a way of travel, from which facts and which rule versions."""

    call = models.ForeignKey(Call, on_delete=models.PROTECT, related_name="verdicts")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="verdicts")
    mode = models.CharField(max_length=16)
    verdict = models.CharField(max_length=12, choices=RuleRow.Outcome.choices)
    facts = models.JSONField()
    trip = models.JSONField(null=True, blank=True, help_text="The journey it was answered for.")
    rules = models.JSONField(default=list, blank=True)
    made_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["call", "piece", "mode"]
        constraints = [one_of("verdict", RuleRow.Outcome, "verdict_known")]
        indexes = [models.Index(fields=["call", "-made_at"], name="verdict_call_made")]

    def __str__(self) -> str:
        return f"{self.piece} {self.mode}: {self.verdict}"
