"""A call: who asks, for what look, how many, where and when; and the people to be dressed."""

from datetime import date, timedelta

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils import timezone

from catalog.core import history
from catalog.core.fields import not_blank, one_of
from catalog.pieces.models import Look, Production, Role

# No wearer's name and no size is in this list: a line says "performer 7".
history.allow(
    "call",
    [
        "reference",
        "title",
        "production",
        "purpose",
        "asked_by",
        "where",
        "look",
        "first_day",
        "last_day",
        "cover_day",
        "load_on",
        "back_on",
        "fittings_from",
        "fittings_to",
        "close_up",
        "wet_or_dusty",
        "note",
        "state",
        "role",
        "count",
        "wearers",
        "performer",
        "days",
        "plan",
        "pieces",
        "sizes_deleted",
    ],
)


class CallPurpose(models.TextChoices):
    """Purpose of a call."""

    RESHOOT = "reshoot", "reshoot"
    STILLS = "stills", "stills"
    EXHIBITION = "exhibition", "exhibition"
    STUDY = "study", "study"


class CallState(models.TextChoices):
    """State of a call."""

    OPEN = "open", "open"
    CLOSED = "closed", "closed"


class Call(models.Model):
    """What a production asked for. A loan for stills, an exhibition or study is a call too, without performers."""

    Purpose = CallPurpose
    State = CallState
    reference = models.CharField(max_length=30)
    title = models.CharField(max_length=160)
    production = models.ForeignKey(Production, on_delete=models.PROTECT, related_name="calls")
    purpose = models.CharField(max_length=12, choices=Purpose.choices, default=Purpose.RESHOOT)
    asked_by = models.CharField(max_length=160, blank=True, help_text="The company or department that asks.")
    received_on = models.DateField()
    where = models.CharField(max_length=200)
    look = models.ForeignKey(Look, on_delete=models.PROTECT, null=True, blank=True, related_name="calls")
    first_day = models.DateField(help_text="First day of use.")
    last_day = models.DateField(help_text="Last day of use.")
    cover_day = models.DateField(null=True, blank=True, help_text="Weather cover.")
    fittings_from = models.DateField(null=True, blank=True)
    fittings_to = models.DateField(null=True, blank=True)
    load_on = models.DateField(help_text="The day the truck is loaded.")
    back_on = models.DateField(help_text="The day everything is back at the dock.")
    close_up = models.BooleanField(default=False)
    wet_or_dusty = models.BooleanField(default=False)
    note = models.TextField(blank=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.OPEN)
    recorded_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-received_on", "reference"]
        constraints = [
            models.UniqueConstraint(
                Lower("reference"),
                name="call_reference_unique",
                violation_error_message="There is a call of this reference.",
            ),
            one_of("purpose", CallPurpose, "call_purpose_known"),
            one_of("state", CallState, "call_state_known"),
            not_blank(["reference", "title", "where"], "call_named", "A call has a reference, a title and a place."),
            models.CheckConstraint(
                condition=Q(last_day__gte=F("first_day")),
                name="call_days_in_order",
                violation_error_message="The last day comes on or after the first day.",
            ),
            models.CheckConstraint(
                condition=Q(load_on__lte=F("first_day")),
                name="call_load_before_use",
                violation_error_message="The truck loads on or before the first day.",
            ),
            models.CheckConstraint(
                condition=Q(back_on__gte=F("last_day")),
                name="call_back_after_use",
                violation_error_message="The pieces are back on or after the last day.",
            ),
            models.CheckConstraint(
                condition=Q(fittings_from__isnull=True)
                | Q(fittings_to__isnull=True)
                | Q(fittings_to__gte=F("fittings_from")),
                name="call_fittings_in_order",
                violation_error_message="Fittings end on or after the day they start.",
            ),
        ]

    def __str__(self) -> str:
        return self.reference

    @property
    def subject(self) -> history.Subject:
        """What this call's history lines are about."""
        return history.Subject("call", self.reference)

    def days(self) -> list[date]:
        """The days of use, without weather cover."""
        return [self.first_day + timedelta(days=n) for n in range((self.last_day - self.first_day).days + 1)]


class CallNeed(models.Model):
    """So many performers in this role."""

    call = models.ForeignKey(Call, on_delete=models.PROTECT, related_name="needs")
    role = models.ForeignKey(Role, on_delete=models.PROTECT, related_name="+")
    count = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["call", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["call", "role"],
                name="callneed_role_once",
                violation_error_message="The call names this role already.",
            ),
            models.CheckConstraint(
                condition=Q(count__gte=1), name="callneed_at_least_one", violation_error_message="Ask for at least one."
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} {self.role}"


class Wearer(models.Model):
    """A number, a name and days: what production may see. Sizes are kept in the fitting room alone."""

    call = models.ForeignKey(Call, on_delete=models.PROTECT, related_name="wearers")
    number = models.CharField(max_length=20)
    name = models.CharField(max_length=120, blank=True, help_text="Emptied when the sizes are deleted.")
    minor = models.BooleanField(default=False, help_text="Under 18: never predicted; a guardian's consent is noted.")

    class Meta:
        ordering = ["call", "number"]
        constraints = [
            models.UniqueConstraint(
                "call", Lower("number"), name="wearer_number_once", violation_error_message="The call has this number."
            ),
            not_blank(["number"], "wearer_numbered", "A performer has a number."),
        ]

    def __str__(self) -> str:
        return f"performer {self.number} of {self.call}"


class WearerDay(models.Model):
    """A day of the call on which the performer is free."""

    wearer = models.ForeignKey(Wearer, on_delete=models.CASCADE, related_name="free_days")
    day = models.DateField()

    class Meta:
        ordering = ["wearer", "day"]
        constraints = [models.UniqueConstraint(fields=["wearer", "day"], name="wearerday_once")]

    def __str__(self) -> str:
        return f"{self.day}"
