"""Holds, and loans from the pull to the put-away."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils import timezone

from catalog.core import history
from catalog.core.fields import not_blank, one_of
from catalog.loans.call_models import Call, CallPurpose, Wearer
from catalog.pieces.models import Part, Piece

history.allow(
    "piece",
    [
        "hold",
        "held_from",
        "held_to",
        "pencilled_from",
        "pencilled_to",
        "strength",
        "loan",
        "loan_state",
        "performer",
        "part_return",
        "substitute",
    ],
)
history.allow(
    "hold",
    [
        "reference",
        "for_whom",
        "strength",
        "starts",
        "ends",
        "use_from",
        "use_to",
        "pieces",
        "state",
        "call",
        "reason",
        "purpose",
        "rank",
        "behind",
    ],
)
history.allow(
    "loan",
    [
        "reference",
        "to_whom",
        "state",
        "out_on",
        "due_on",
        "pieces",
        "hold",
        "call",
        "back_on",
        "taken_by",
        "left_behind",
        "closed_on",
    ],
)


class HoldStrength(models.TextChoices):
    """Strength of a hold."""

    PENCIL = "pencil", "pencil"
    FIRM = "firm", "firm"


# Only what is firm is held; a pencil is a wish in writing.
HOLD_WORDS = {HoldStrength.PENCIL.value: "pencilled", HoldStrength.FIRM.value: "held"}


class HoldState(models.TextChoices):
    """State of a hold."""

    ACTIVE = "active", "active"
    RELEASED = "released", "released"
    LAPSED = "lapsed", "lapsed"


class Hold(models.Model):
    """Pieces reserved from `starts` to `ends`, buffers included. A firm hold writes a row a piece a day."""

    Strength = HoldStrength
    State = HoldState
    Purpose = CallPurpose
    reference = models.CharField(max_length=30)
    call = models.ForeignKey(Call, on_delete=models.PROTECT, null=True, blank=True, related_name="holds")
    for_whom = models.CharField(max_length=160)
    strength = models.CharField(max_length=6, choices=Strength.choices)
    purpose = models.CharField(
        max_length=12, choices=CallPurpose.choices, blank=True, default="", help_text="Empty: as its call."
    )
    use_from = models.DateField()
    use_to = models.DateField()
    starts = models.DateField(help_text="First held day, with the buffer before.")
    ends = models.DateField(help_text="Last held day, with the buffer after.")
    notice_days = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Notice for an early release.")
    confirmed_by = models.CharField(
        max_length=120, blank=True, help_text="Who may authorise it: a firm hold needs a name."
    )
    lapses_on = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.ACTIVE)
    note = models.CharField(max_length=300, blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["starts", "reference"]
        constraints = [
            models.UniqueConstraint(
                Lower("reference"),
                name="hold_reference_unique",
                violation_error_message="There is a hold of this reference.",
            ),
            one_of("strength", HoldStrength, "hold_strength_known"),
            one_of("purpose", CallPurpose, "hold_purpose_known", blank=True),
            one_of("state", HoldState, "hold_state_known"),
            not_blank(["reference", "for_whom"], "hold_named", "A hold has a reference and a name to hold for."),
            models.CheckConstraint(
                condition=Q(use_to__gte=F("use_from")),
                name="hold_use_in_order",
                violation_error_message="A hold ends on or after the day it starts.",
            ),
            models.CheckConstraint(
                condition=Q(starts__lte=F("use_from")) & Q(ends__gte=F("use_to")),
                name="hold_buffers_outside",
                violation_error_message="The buffers lie before and after the days of use.",
            ),
            models.CheckConstraint(
                condition=Q(strength="pencil") | ~Q(confirmed_by=""),
                name="hold_firm_needs_name",
                violation_error_message="A firm hold needs the name of who authorised it.",
            ),
        ]

    def __str__(self) -> str:
        return self.reference

    @property
    def subject(self) -> history.Subject:
        """What this hold's history lines are about."""
        return history.Subject("hold", self.reference)

    @property
    def word(self) -> str:
        """What it does to its pieces: a pencil pencils, only a firm hold holds."""
        return HOLD_WORDS[self.strength]


class HoldPiece(models.Model):
    """A piece in a hold; released pieces stay listed with their day."""

    hold = models.ForeignKey(Hold, on_delete=models.PROTECT, related_name="pieces")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="holds")
    released_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["hold", "piece"]
        constraints = [models.UniqueConstraint(fields=["hold", "piece"], name="holdpiece_once")]

    def __str__(self) -> str:
        return f"{self.hold} {self.piece}"


class HoldDay(models.Model):
    """A piece firmly held on a day. Unique: double booking cannot be stored, whatever the timing."""

    hold = models.ForeignKey(Hold, on_delete=models.CASCADE, related_name="days")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="held_days")
    day = models.DateField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["piece", "day"], name="holdday_one_hold_a_piece_a_day")]
        indexes = [models.Index(fields=["hold", "day"], name="holdday_hold_day")]

    def __str__(self) -> str:
        return f"{self.piece} {self.day}"


class LoanState(models.TextChoices):
    """State of a loan."""

    PULLING = "pulling", "being pulled"
    OUT = "out", "out"
    HOME = "home", "coming home"
    CLOSED = "closed", "closed"


class Loan(models.Model):
    """Pieces on their way out and home again. It closes only when nothing is open."""

    State = LoanState
    reference = models.CharField(max_length=30)
    call = models.ForeignKey(Call, on_delete=models.PROTECT, null=True, blank=True, related_name="loans")
    hold = models.ForeignKey(Hold, on_delete=models.PROTECT, null=True, blank=True, related_name="loans")
    to_whom = models.CharField(max_length=160)
    state = models.CharField(max_length=8, choices=State.choices, default=State.PULLING)
    out_on = models.DateField(null=True, blank=True)
    due_on = models.DateField()
    taken_by = models.CharField(max_length=120, blank=True, help_text="Who took custody and signed.")
    closed_on = models.DateField(null=True, blank=True)
    made_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-made_at"]
        constraints = [
            models.UniqueConstraint(
                Lower("reference"),
                name="loan_reference_unique",
                violation_error_message="There is a loan of this reference.",
            ),
            one_of("state", LoanState, "loan_state_known"),
            not_blank(["reference", "to_whom"], "loan_named", "A loan has a reference and a borrower."),
            models.CheckConstraint(
                # A loan that was called off closes without having left.
                condition=Q(state__in=["pulling", "closed"]) | Q(out_on__isnull=False),
                name="loan_out_has_day",
                violation_error_message="A loan that left has the day it left.",
            ),
            models.CheckConstraint(
                condition=Q(state="closed", closed_on__isnull=False) | (~Q(state="closed") & Q(closed_on__isnull=True)),
                name="loan_closed_has_day",
                violation_error_message="A closed loan has its day, an open one has none.",
            ),
        ]

    def __str__(self) -> str:
        return self.reference

    @property
    def subject(self) -> history.Subject:
        """What this loan's history lines are about."""
        return history.Subject("loan", self.reference)


class LoanLineState(models.TextChoices):
    """State of a loan line."""

    TO_PULL = "to pull", "to pull"
    PULLED = "pulled", "pulled"
    OUT = "out", "out"
    ON_SET = "on set", "on set, signed out"
    BACK = "back", "back, to quarantine"
    QUARANTINED = "quarantined", "in quarantine"
    PUT_AWAY = "put away", "put away"
    WENT_BACK = "went back", "back with its owner"
    LEFT_BEHIND = "left behind", "not sent after all"
    NOT_BACK = "not back", "did not come back"


class LoanLineResult(models.TextChoices):
    """Result of a loan line."""

    AS_SENT = "as sent", "as sent"
    CHANGED = "changed", "changed"
    INCOMPLETE = "incomplete", "incomplete"


class LoanLine(models.Model):
    """One piece of a loan, and how far it has come."""

    State = LoanLineState
    CLOSED = (State.PUT_AWAY, State.WENT_BACK, State.LEFT_BEHIND, State.NOT_BACK)

    Result = LoanLineResult
    loan = models.ForeignKey(Loan, on_delete=models.PROTECT, related_name="lines")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="loan_lines")
    wearer = models.ForeignKey(Wearer, on_delete=models.PROTECT, null=True, blank=True, related_name="lines")
    state = models.CharField(max_length=12, choices=State.choices, default=State.TO_PULL)
    substitute_for = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    substitute_reason = models.CharField(max_length=160, blank=True)
    out_grade = models.PositiveSmallIntegerField(null=True, blank=True)
    result = models.CharField(max_length=10, choices=Result.choices, blank=True)
    result_note = models.CharField(max_length=200, blank=True)
    back_at = models.DateTimeField(null=True, blank=True)
    order = models.PositiveIntegerField(default=0, help_text="Walking order.")

    class Meta:
        ordering = ["loan", "order", "piece"]
        constraints = [
            models.UniqueConstraint(
                fields=["loan", "piece"],
                name="loanline_piece_once",
                violation_error_message="The loan has this piece already.",
            ),
            models.UniqueConstraint(
                fields=["piece"],
                condition=Q(state__in=["pulled", "out", "on set", "back", "quarantined"]),
                name="loanline_one_open_loan_a_piece",
                violation_error_message="The piece is on another loan.",
            ),
            one_of("state", LoanLineState, "loanline_state_known"),
            one_of("result", LoanLineResult, "loanline_result_known", blank=True),
            models.CheckConstraint(
                condition=Q(substitute_for__isnull=True) | ~Q(substitute_reason=""),
                name="loanline_substitute_has_reason",
                violation_error_message="Say why another piece goes instead.",
            ),
            models.CheckConstraint(
                condition=~Q(result__in=["changed", "incomplete"]) | ~Q(result_note=""),
                name="loanline_result_has_note",
                violation_error_message="Say what changed or what is missing.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.loan} {self.piece}"


class PartReturn(models.Model):
    """Whether a half or detachable part came home with its piece."""

    line = models.ForeignKey(LoanLine, on_delete=models.PROTECT, related_name="parts")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="+")
    back = models.BooleanField(null=True, blank=True, help_text="Unknown until counted.")
    counted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["line", "part"]
        constraints = [models.UniqueConstraint(fields=["line", "part"], name="partreturn_once")]

    def __str__(self) -> str:
        return f"{self.part} back: {self.back}"
