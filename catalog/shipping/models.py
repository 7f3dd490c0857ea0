"""Travel rules as rows, and the verdicts made from them."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from catalog.core import history
from catalog.core.fields import not_blank, one_of
from catalog.loans.models import Call
from catalog.pieces.models import Piece

__all__ = ["RuleRow", "Verdict"]

history.allow("house", ["rule", "rule_version"])


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


class RuleRow(models.Model):
    """One travel rule: what triggers it, what it says, and where it comes from. A changed rule is a new version."""

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

    class Meta:
        ordering = ["code", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["code", "version"], name="rulerow_version_once"),
            models.UniqueConstraint(fields=["code"], condition=Q(active=True), name="rulerow_one_active"),
            one_of("verdict", RuleRowOutcome, "rulerow_verdict_known"),
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
    rules = models.JSONField(default=list, blank=True)
    made_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["call", "piece", "mode"]
        constraints = [one_of("verdict", RuleRow.Outcome, "verdict_known")]
        indexes = [models.Index(fields=["call", "-made_at"], name="verdict_call_made")]

    def __str__(self) -> str:
        return f"{self.piece} {self.mode}: {self.verdict}"
