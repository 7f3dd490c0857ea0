"""Condition reports: what somebody saw of a piece on a day, its marks and pictures. What is signed stays as it is."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from catalog.core.fields import between, not_blank, one_of
from catalog.core.frozen import freeze
from catalog.core.models import File
from catalog.pieces.models import Look, Piece

__all__ = ["ConditionMark", "ConditionReport", "ReportPicture"]


class ConditionReportStability(models.TextChoices):
    """Stability of a condition report."""

    STABLE = "stable", "stable"
    WATCH = "watch", "watch"
    ACTIVE = "active", "active: pest, mould, corrosion, sticky, swelling"


class ConditionReportCompleteness(models.TextChoices):
    """Completeness of a condition report."""

    COMPLETE = "complete", "complete"
    INCOMPLETE = "incomplete", "incomplete"
    FRAGMENT = "fragment", "fragment"


class ConditionReportGrade(models.IntegerChoices):
    """Grade of a condition report."""

    READY = 1, "1 ready"
    LIGHT_WEAR = 2, "2 ready, light wear"
    SMALL_WORK = 3, "3 usable after small work"
    WEAK = 4, "4 weak: conservator only"
    BEYOND_USE = 5, "5 beyond use"


class ConditionReport(models.Model):
    """The state of a piece at a moment. Frozen once signed."""

    Stability = ConditionReportStability
    Completeness = ConditionReportCompleteness
    Grade = ConditionReportGrade
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="reports")
    grade = models.PositiveSmallIntegerField(choices=Grade.choices)
    stability = models.CharField(max_length=8, choices=Stability.choices, default=Stability.STABLE)
    completeness = models.CharField(max_length=12, choices=Completeness.choices, default=Completeness.COMPLETE)
    missing = models.CharField(max_length=160, blank=True, help_text="Which part is missing.")
    work = models.CharField(max_length=160, blank=True, help_text="Which small work, and how long it takes.")
    look = models.ForeignKey(Look, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    method = models.CharField(max_length=100, blank=True, help_text="How it was looked at.")
    note = models.TextField(blank=True)
    occasion = models.CharField(
        max_length=60, blank=True, help_text="For example: entry, before a loan, back from a loan."
    )
    unchanged = models.BooleanField(default=False, help_text="Nothing was found changed since the report before.")
    reported_at = models.DateTimeField(default=timezone.now)
    reported_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    signed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["piece", "-reported_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(grade__range=(1, 5)),
                name="conditionreport_grade_known",
                violation_error_message="A grade is 1 to 5.",
            ),
            one_of("stability", ConditionReportStability, "conditionreport_stability_known"),
            one_of("completeness", ConditionReportCompleteness, "conditionreport_completeness_known"),
        ]

    def __str__(self) -> str:
        return f"{self.piece} grade {self.grade}"


class ReportPictureLabel(models.TextChoices):
    """How it is known that a picture shows this piece and no other."""

    SHOWN = "shown", "its label is in the picture"
    READ = "read", "its label was read when it was taken"


class ReportPicture(models.Model):
    """A picture taken for a report, and how it is known which piece it shows."""

    Label = ReportPictureLabel
    report = models.ForeignKey(ConditionReport, on_delete=models.PROTECT, related_name="pictures")
    file = models.ForeignKey(File, on_delete=models.PROTECT, related_name="+")
    label = models.CharField(max_length=6, choices=Label.choices)

    class Meta:
        ordering = ["report", "id"]
        constraints = [
            models.UniqueConstraint(fields=["report", "file"], name="reportpicture_once"),
            one_of("label", ReportPictureLabel, "reportpicture_label_seen"),
        ]

    def __str__(self) -> str:
        return f"picture of {self.report}"


class ConditionMarkOutline(models.TextChoices):
    """Which outline a mark stands on when there is no photo."""

    FRONT = "front", "outline, front"
    BACK = "back", "outline, back"


class ConditionMarkState(models.TextChoices):
    """What a report says of a mark: noted for the first time, or held against the report before."""

    NOTED = "noted", "noted"
    SAME = "same", "same"
    WORSE = "worse", "worse"
    GONE = "gone", "gone"
    NEW = "new", "new"


class ConditionMarkCause(models.TextChoices):
    """What brought a new mark: wear is nobody's fault, the others may be somebody's."""

    WEAR = "wear", "wear"
    HANDLING = "handling", "handling"
    ACCIDENT = "accident", "accident"


class ConditionMarkWith(models.TextChoices):
    """In whose hands it happened, by their work; never a person's name."""

    PERFORMER = "performer", "a performer"
    COSTUMERS = "costumers", "the set's costumers"
    CARRIER = "carrier", "the carrier"
    STORE = "store", "the store"
    OTHERS = "others", "others on set"
    UNKNOWN = "unknown", "not known"


_STATE, _CAUSE = ConditionMarkState, ConditionMarkCause
_PINNED = Q(x_permille__isnull=False, y_permille__isnull=False) & (
    Q(file__isnull=False, outline="") | (Q(file__isnull=True) & ~Q(outline=""))
)


class ConditionMark(models.Model):
    """One mark, in words and perhaps as a pin on a picture or an outline. Left and right are the wearer's."""

    Outline = ConditionMarkOutline
    State = ConditionMarkState
    Cause = ConditionMarkCause
    With = ConditionMarkWith
    report = models.ForeignKey(ConditionReport, on_delete=models.PROTECT, related_name="marks")
    file = models.ForeignKey(File, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    outline = models.CharField(max_length=5, choices=Outline.choices, blank=True)
    x_permille = models.PositiveSmallIntegerField(null=True, blank=True)
    y_permille = models.PositiveSmallIntegerField(null=True, blank=True)
    zone = models.CharField(max_length=60, help_text="For example: front, wearer's left cuff.")
    word = models.CharField(max_length=60)
    size_mm = models.PositiveIntegerField(null=True, blank=True)
    on_screen = models.BooleanField(
        null=True, blank=True, help_text="Original to the film: keep. No: later damage. Unknown while nobody said."
    )
    state = models.CharField(max_length=5, choices=State.choices, default=State.NOTED)
    answers = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="answered_by")
    cause = models.CharField(max_length=8, choices=Cause.choices, blank=True)
    happened_on = models.DateField(null=True, blank=True)
    happened_with = models.CharField(max_length=10, choices=With.choices, blank=True)
    note = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering = ["report", "id"]
        constraints = [
            between("x_permille", 0, 1000, "conditionmark_x_inside", "The mark lies outside its picture."),
            between("y_permille", 0, 1000, "conditionmark_y_inside", "The mark lies outside its picture."),
            not_blank(["zone", "word"], "conditionmark_named", "A mark has a zone and a word."),
            one_of("outline", ConditionMarkOutline, "conditionmark_outline_known", blank=True),
            one_of("state", ConditionMarkState, "conditionmark_state_known"),
            one_of("cause", ConditionMarkCause, "conditionmark_cause_known", blank=True),
            one_of("happened_with", ConditionMarkWith, "conditionmark_with_known", blank=True),
            models.CheckConstraint(
                condition=_PINNED | Q(x_permille__isnull=True, y_permille__isnull=True, outline=""),
                name="conditionmark_pin_whole",
                violation_error_message="A pin has a picture or an outline, and its place across and down.",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["same", "worse", "gone"], answers__isnull=False)
                | Q(state__in=["noted", "new"], answers__isnull=True),
                name="conditionmark_answers_one",
                violation_error_message="Same, worse and gone are said of an old mark, noted and new of none.",
            ),
            models.CheckConstraint(
                condition=~Q(state="new") | ~Q(cause=""),
                name="conditionmark_new_has_cause",
                violation_error_message="Say of each new mark whether it is wear, handling or an accident.",
            ),
            models.CheckConstraint(
                condition=~Q(cause="accident") | ~Q(happened_with=""),
                name="conditionmark_accident_told",
                violation_error_message="Say of an accident in whose hands it happened, even if that is not known.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.word} at {self.zone}"


_SIGNED = "signed condition reports are never changed or deleted"
_OF_SIGNED = "EXISTS (SELECT 1 FROM catalog_conditionreport s WHERE s.id = {row}.report_id AND s.signed_at IS NOT NULL)"
freeze("catalog_conditionreport", _SIGNED, when="{row}.signed_at IS NOT NULL", acts=["UPDATE", "DELETE"])
freeze("catalog_conditionmark", _SIGNED, when=_OF_SIGNED, into=True)
freeze("catalog_reportpicture", _SIGNED, when=_OF_SIGNED, into=True)
