"""Work on a piece: treatments, quarantine, alterations that can be undone."""

from django.db import models
from django.db.models import F, Q

from catalog.core.fields import not_blank, one_of
from catalog.pieces.calc.kinds import POINTS
from catalog.pieces.models import Look, Piece

__all__ = ["Alteration", "DayKind", "Quarantine", "Treatment", "TreatmentState"]


class DayKind(models.TextChoices):
    """How days are counted: every day, or working days of the house calendar."""

    CALENDAR = "calendar", "calendar days"
    WORKING = "working", "working days"


class TreatmentState(models.TextChoices):
    """State of a treatment."""

    NEEDED = "needed", "needed"
    STARTED = "started", "started"
    DONE = "done", "done"
    DROPPED = "dropped", "called off"


class Treatment(models.Model):
    """Work a piece needs or had. Work against pests keeps the piece where it is until it is done or called off."""

    State = TreatmentState
    OPEN = (TreatmentState.NEEDED, TreatmentState.STARTED)
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="treatments")
    what = models.CharField(max_length=200)
    days = models.PositiveSmallIntegerField(null=True, blank=True)
    day_kind = models.CharField(max_length=10, choices=DayKind.choices, default=DayKind.WORKING)
    state = models.CharField(max_length=8, choices=State.choices, default=State.NEEDED)
    against_pests = models.BooleanField(default=False)
    to_look = models.ForeignKey(
        Look, on_delete=models.PROTECT, null=True, blank=True, related_name="+", help_text="Breakdown to this look."
    )
    cleaning = models.BooleanField(default=False, help_text="Takes something off: washing, brushing, polishing.")
    needs_approval = models.BooleanField(default=False, help_text="Cleaning of what was on screen, or may have been.")
    approved_by_name = models.CharField(max_length=120, blank=True)
    approved_on = models.DateField(null=True, blank=True)
    approved_how_far = models.CharField(max_length=200, blank=True, help_text="What may go and what stays.")
    started_on = models.DateField(null=True, blank=True)
    done_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["piece", "id"]
        constraints = [
            one_of("state", TreatmentState, "treatment_state_known"),
            one_of("day_kind", DayKind, "treatment_day_kind_known"),
            not_blank(["what"], "treatment_named", "Say what must be done."),
            models.CheckConstraint(
                condition=Q(done_on__isnull=True) | Q(started_on__isnull=True) | Q(done_on__gte=F("started_on")),
                name="treatment_dates_in_order",
                violation_error_message="A treatment is done on or after the day it started.",
            ),
            models.CheckConstraint(
                condition=Q(needs_approval=False) | ~Q(state__in=["started", "done"]) | ~Q(approved_by_name=""),
                name="treatment_cleaning_approved",
                violation_error_message="Cleaning what was on screen needs an approval by name before it begins.",
            ),
            models.CheckConstraint(
                condition=Q(approved_by_name="", approved_on__isnull=True, approved_how_far="")
                | (~Q(approved_by_name="") & Q(approved_on__isnull=False) & ~Q(approved_how_far="")),
                name="treatment_approval_whole",
                violation_error_message="An approval has a name, a day, and how far the cleaning may go.",
            ),
        ]

    def __str__(self) -> str:
        return self.what

    @property
    def takes(self) -> str:
        """ "1 working day", "3 calendar days"; empty when nobody said how long."""
        if self.days is None:
            return ""
        return f"{self.days} {self.day_kind} {'day' if self.days == 1 else 'days'}"


class Quarantine(models.Model):
    """A piece kept apart until it is checked. While open it has no place in the store and is not free."""

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="quarantines")
    opened_on = models.DateField()
    due_on = models.DateField()
    reason = models.CharField(max_length=160)
    released_on = models.DateField(null=True, blank=True)
    findings = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["piece", "-opened_on", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece"],
                condition=Q(released_on__isnull=True),
                name="quarantine_one_open",
                violation_error_message="The piece is in quarantine already.",
            ),
            models.CheckConstraint(
                condition=Q(due_on__gte=F("opened_on")),
                name="quarantine_due_after_start",
                violation_error_message="A quarantine ends on or after its first day.",
            ),
            models.CheckConstraint(
                condition=Q(released_on__isnull=True) | Q(released_on__gte=F("opened_on")),
                name="quarantine_released_after_start",
                violation_error_message="A quarantine is released on or after its first day.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.piece} quarantine"


class AlterationWay(models.TextChoices):
    """Way of an alteration. There is none that cuts, dyes or glues: nothing is done that does not go back."""

    OUT = "out", "let out or down"
    IN = "in", "taken in or up"
    OTHER = "other", "held otherwise: tacks, tape ties, padding"


class Alteration(models.Model):
    """A change of size that can be undone, and by when it must be."""

    Way = AlterationWay
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="alterations")
    what = models.CharField(max_length=160)
    way = models.CharField(max_length=5, choices=Way.choices, blank=True)
    seam = models.CharField(max_length=80, blank=True, help_text="Which seam or hem, and where the stitches are.")
    point = models.CharField(max_length=20, blank=True)
    change_mm = models.IntegerField(null=True, blank=True)
    before_mm = models.PositiveIntegerField(null=True, blank=True, help_text="The measure that stood there before.")
    for_number = models.CharField(max_length=8, blank=True, help_text="The performer's number, never a name.")
    done_on = models.DateField()
    done_by_name = models.CharField(max_length=120)
    undo_by = models.DateField(null=True, blank=True)
    undone_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["piece", "-done_on", "-id"]
        constraints = [
            not_blank(["what", "done_by_name"], "alteration_named", "Say what was altered and by whom."),
            one_of("way", AlterationWay, "alteration_way_known", blank=True),
            models.CheckConstraint(
                condition=Q(change_mm__isnull=True) | (~Q(point="") & ~Q(change_mm=0)),
                name="alteration_change_at_a_point",
                violation_error_message="A change of size is not 0 and belongs to a point.",
            ),
            models.CheckConstraint(
                condition=Q(change_mm__isnull=True)
                | Q(way="")
                | Q(way="out", change_mm__gt=0)
                | Q(way="in", change_mm__lt=0),
                name="alteration_change_its_way",
                violation_error_message="Let out is larger, taken in is smaller.",
            ),
            models.CheckConstraint(
                condition=Q(undone_on__isnull=True) | Q(undone_on__gte=F("done_on")),
                name="alteration_undone_after_done",
                violation_error_message="An alteration is undone on or after the day it was made.",
            ),
        ]

    def __str__(self) -> str:
        return self.what

    @property
    def size_of_change(self) -> int:
        """The change without its sign, in mm."""
        return abs(self.change_mm or 0)

    @property
    def point_word(self) -> str:
        """The measure it changes, in words."""
        return POINTS[self.point].word if self.point in POINTS else self.point
