"""The wear decision, hazards, power packs; reports stand in condition_models.py, work in work_models.py."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from catalog.care.condition_models import ConditionMark, ConditionReport, ReportPicture
from catalog.care.evidence_models import OnScreenBreakdown
from catalog.care.inspection_models import Inspection
from catalog.care.look_models import LookSample
from catalog.care.wild_models import WildPart
from catalog.care.work_models import Alteration, DayKind, Quarantine, Treatment
from catalog.core import history
from catalog.core.fields import between, not_blank, one_of
from catalog.pieces.models import Piece

__all__ = [
    "Alteration",
    "BatteryPack",
    "ConditionMark",
    "ConditionReport",
    "HazardFinding",
    "Inspection",
    "LookSample",
    "OnScreenBreakdown",
    "Quarantine",
    "ReportPicture",
    "Treatment",
    "WearDecision",
    "WildPart",
]

history.allow(
    "piece",
    [
        "grade",
        "stability",
        "completeness",
        "condition_note",
        "wear",
        "limits",
        "repair",
        "repair_days",
        "hazard",
        "hazard_state",
        "pack",
        "pack_state",
        "treatment",
        "treatment_state",
        "against_pests",
        "quarantine",
        "quarantine_due",
        "alteration",
        "undo_by",
        "undone_on",
        "minutes_limit",
        "rest_minutes",
        "no_close_up",
        "mark",
    ],
)


class WearDecisionDecision(models.TextChoices):
    """Decision of a wear decision."""

    WEAR = "wear", "wear"
    LIMITS = "wear with limits", "wear with limits"
    REPAIR = "wear after repair", "wear after repair"
    REFERENCE = "reference only", "reference only"
    NOT = "not wearable", "not wearable"


class WearDecision(models.Model):
    """Whether a piece may be worn, who said so and when. A piece without one is not for wear."""

    Decision = WearDecisionDecision
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="wear_decisions")
    decision = models.CharField(max_length=20, choices=Decision.choices)
    limits = models.CharField(max_length=200, blank=True)
    minutes_limit = models.PositiveSmallIntegerField(null=True, blank=True)
    rest_minutes = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Off for so long before it is worn again; empty: the decision names no rest."
    )
    no_close_up = models.BooleanField(default=False)
    repair = models.CharField(max_length=200, blank=True)
    repair_days = models.PositiveSmallIntegerField(null=True, blank=True)
    repair_day_kind = models.CharField(max_length=10, choices=DayKind.choices, default=DayKind.WORKING)
    decided_on = models.DateField()
    decided_by_name = models.CharField(max_length=120, help_text="Who decided: a person or the list it came from.")
    decided_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    current = models.BooleanField(default=True)
    questioned_on = models.DateField(
        null=True, blank=True, help_text="Since when it does not count, because of what happened to the piece."
    )
    questioned_why = models.CharField(max_length=240, blank=True)

    class Meta:
        ordering = ["piece", "-decided_on", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["piece"], condition=Q(current=True), name="weardecision_one_current"),
            one_of("decision", WearDecisionDecision, "weardecision_known"),
            one_of("repair_day_kind", DayKind, "weardecision_day_kind_known"),
            models.CheckConstraint(
                condition=~Q(decision="wear with limits") | ~Q(limits=""),
                name="weardecision_limits_named",
                violation_error_message="Say what the limits are.",
            ),
            models.CheckConstraint(
                condition=~Q(decision="wear after repair") | (~Q(repair="") & Q(repair_days__isnull=False)),
                name="weardecision_repair_named",
                violation_error_message="Say what must be repaired and how many days it takes.",
            ),
            models.CheckConstraint(
                condition=Q(rest_minutes__isnull=True) | Q(minutes_limit__isnull=False),
                name="weardecision_rest_after_minutes",
                violation_error_message="A rest follows minutes of wear: say how many at a time.",
            ),
            not_blank(["decided_by_name"], "weardecision_by_named", "Say who decided."),
            models.CheckConstraint(
                condition=Q(questioned_on__isnull=True, questioned_why="")
                | (Q(questioned_on__isnull=False) & ~Q(questioned_why="")),
                name="weardecision_question_said",
                violation_error_message="Say since when and why the decision is in question.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.piece} {self.decision}"


class HazardFindingState(models.TextChoices):
    """State of a hazard finding."""

    SUSPECTED = "suspected", "suspected"
    CONFIRMED = "confirmed", "confirmed"
    CLEARED = "cleared", "cleared"
    UNTESTED = "untested", "untested"


class HazardFinding(models.Model):
    """What is dangerous in a piece, or might be. "Untested" is a state of its own and never counts as clear."""

    State = HazardFindingState
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="hazards")
    hazard = models.CharField(max_length=40)
    state = models.CharField(max_length=10, choices=State.choices)
    note = models.CharField(max_length=200, blank=True)
    found_on = models.DateField()
    found_by_name = models.CharField(max_length=120)
    current = models.BooleanField(default=True)

    class Meta:
        ordering = ["piece", "hazard", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece", "hazard"], condition=Q(current=True), name="hazardfinding_one_current"
            ),
            one_of("state", HazardFindingState, "hazardfinding_state_known"),
            not_blank(["hazard", "found_by_name"], "hazardfinding_named", "Name the hazard and who found it."),
        ]

    def __str__(self) -> str:
        return f"{self.hazard} {self.state}"


class BatteryPackChemistry(models.TextChoices):
    """Chemistry of a battery pack."""

    LITHIUM_ION = "lithium_ion", "lithium ion"
    LITHIUM_METAL = "lithium_metal", "lithium metal"
    DRY = "dry", "dry cells (alkaline, NiMH, NiCd)"
    UNKNOWN = "unknown", "unknown"


class BatteryPackState(models.TextChoices):
    """State of a battery pack."""

    SOUND = "sound", "sound"
    DAMAGED = "damaged", "swollen, leaking or damaged"
    UNKNOWN = "unknown", "unknown"


class BatteryPackPlaced(models.TextChoices):
    """Placed of a battery pack."""

    FITTED = "fitted", "fitted in the piece"
    PACKED_WITH = "packed_with", "packed with the piece"
    ALONE = "alone", "alone, as a spare"
    UNKNOWN = "unknown", "unknown"


class BatteryPack(models.Model):
    """A battery in or with a piece. Unknown energy or state stays unknown, and never counts as small or sound."""

    Chemistry = BatteryPackChemistry
    State = BatteryPackState
    Placed = BatteryPackPlaced
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="packs")
    chemistry = models.CharField(max_length=14, choices=Chemistry.choices, default=Chemistry.UNKNOWN)
    energy_wh = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.UNKNOWN)
    placed = models.CharField(max_length=12, choices=Placed.choices, default=Placed.UNKNOWN)
    lithium_g = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    charge_percent = models.PositiveSmallIntegerField(null=True, blank=True)
    seen_on = models.DateField(null=True, blank=True)
    removed_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["piece", "id"]
        constraints = [
            one_of("chemistry", BatteryPackChemistry, "batterypack_chemistry_known"),
            one_of("state", BatteryPackState, "batterypack_state_known"),
            one_of("placed", BatteryPackPlaced, "batterypack_placed_known"),
            between("charge_percent", 0, 100, "batterypack_charge_possible", "A charge lies between 0 and 100 %."),
            models.CheckConstraint(
                condition=Q(energy_wh__isnull=True) | Q(energy_wh__gt=0),
                name="batterypack_energy_positive",
                violation_error_message="The energy of a pack is above 0 Wh.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.chemistry} pack, {self.state}"
