"""On set: who had which piece from when to when, how long it was worn, and what was seen to be damaged."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from catalog.core import history
from catalog.core.fields import not_blank, one_of
from catalog.loans.call_models import Wearer
from catalog.loans.loan_models import Loan, LoanLine

history.allow("piece", ["damage", "damage_cause"])
history.allow("loan", ["day"])


def _by() -> "models.ForeignKey[object, object]":
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )


class SignOut(models.Model):
    """A piece given to a performer and taken in again. Its moments are those of the acts, also when sent late."""

    line = models.ForeignKey(LoanLine, on_delete=models.PROTECT, related_name="sign_outs")
    wearer = models.ForeignKey(Wearer, on_delete=models.PROTECT, related_name="sign_outs")
    out_at = models.DateTimeField()
    out_by = _by()
    in_at = models.DateTimeField(null=True, blank=True)
    in_by = _by()

    class Meta:
        ordering = ["out_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["line"],
                condition=Q(in_at__isnull=True),
                name="signout_one_open_a_line",
                violation_error_message="The piece is signed out already.",
            ),
            models.CheckConstraint(
                condition=Q(in_at__isnull=True) | Q(in_at__gte=F("out_at")),
                name="signout_in_order",
                violation_error_message="It comes in after it went out.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.line} to {self.wearer.number}"


class WearSpell(models.Model):
    """A piece with a limit on somebody, from when to when. Stored moments: no page has to stay open for the clock."""

    line = models.ForeignKey(LoanLine, on_delete=models.PROTECT, related_name="spells")
    wearer = models.ForeignKey(Wearer, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    started_at = models.DateTimeField()
    stopped_at = models.DateTimeField(null=True, blank=True)
    again_by = models.CharField(
        max_length=80, blank=True, help_text="Who said that it may be worn again, where the limit names no rest."
    )
    started_by = _by()

    class Meta:
        ordering = ["started_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["line"],
                condition=Q(stopped_at__isnull=True),
                name="wearspell_one_open_a_line",
                violation_error_message="Its clock runs already.",
            ),
            models.CheckConstraint(
                condition=Q(stopped_at__isnull=True) | Q(stopped_at__gte=F("started_at")),
                name="wearspell_in_order",
                violation_error_message="A clock stops after it was started.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.line} worn"


class DamageCause(models.TextChoices):
    """What a damage came of, as far as somebody at the set can say."""

    UNKNOWN = "unknown", "not known"
    WEAR = "wear", "wear"
    HANDLING = "handling", "handling"
    ACCIDENT = "accident", "an accident"


class DamageNote(models.Model):
    """What was seen on set. It is shown when the piece is counted back."""

    Cause = DamageCause
    line = models.ForeignKey(LoanLine, on_delete=models.PROTECT, related_name="damage")
    wearer = models.ForeignKey(Wearer, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    what = models.CharField(max_length=200)
    cause = models.CharField(max_length=8, choices=DamageCause.choices, default=DamageCause.UNKNOWN)
    seen_at = models.DateTimeField()
    noted_by = _by()

    class Meta:
        ordering = ["seen_at", "id"]
        constraints = [
            one_of("cause", DamageCause, "damagenote_cause_known"),
            not_blank(["what"], "damagenote_says_what", "Say what is damaged."),
        ]

    def __str__(self) -> str:
        return self.what


class SetDay(models.Model):
    """A day at the set that was counted back and closed. What was open then stands in its own rows."""

    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="set_days")
    day = models.DateField()
    closed_at = models.DateTimeField()
    closed_by = _by()
    noted_by = models.CharField(max_length=80, blank=True, help_text="Who took note of what is open.")
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["loan", "day"]
        constraints = [
            models.UniqueConstraint(
                fields=["loan", "day"],
                name="setday_once",
                violation_error_message="This day is closed already.",
            ),
            models.CheckConstraint(
                condition=Q(noted_by="", note="") | (~Q(noted_by="") & ~Q(note="")),
                name="setday_note_has_a_person",
                violation_error_message="Say what is known of what is open, and who took note.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.loan} {self.day}"


class SetDayOpen(models.Model):
    """What was still on somebody when the day was closed."""

    set_day = models.ForeignKey(SetDay, on_delete=models.CASCADE, related_name="open")
    line = models.ForeignKey(LoanLine, on_delete=models.PROTECT, related_name="+")
    wearer = models.ForeignKey(Wearer, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    out_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["set_day", "id"]
        constraints = [models.UniqueConstraint(fields=["set_day", "line"], name="setdayopen_line_once")]

    def __str__(self) -> str:
        return f"{self.line} open"
