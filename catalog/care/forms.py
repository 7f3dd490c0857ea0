"""What is typed about condition, wear, hazards, packs and work."""

from typing import Any

from django import forms

from catalog.care.calc.cautions import HAZARDS
from catalog.care.calc.pest_hold import METHODS
from catalog.care.models import (
    Alteration,
    BatteryPack,
    DayKind,
    HazardFinding,
    OnScreenBreakdown,
    WearDecision,
)
from catalog.core.form_fields import DayField, LengthField, PastDayField
from catalog.core.plain_forms import PlainForm
from catalog.pieces.calc.kinds import POINTS


class WearForm(PlainForm):
    """Whether the piece may be worn, who says so, and when."""

    decision = forms.ChoiceField(choices=WearDecision.Decision.choices, widget=forms.RadioSelect)
    limits = forms.CharField(max_length=200, required=False, help_text="For wear with limits: which.")
    minutes_limit = forms.IntegerField(min_value=1, max_value=1440, required=False, label="Minutes at a time, at most")
    rest_minutes = forms.IntegerField(
        min_value=1, max_value=1440, required=False, label="Minutes off before it is worn again"
    )
    no_close_up = forms.BooleanField(required=False, label="Not for close-up")
    repair = forms.CharField(max_length=200, required=False, help_text="For wear after repair: what must be done.")
    repair_days = forms.IntegerField(min_value=0, max_value=999, required=False, label="Days the repair takes")
    repair_day_kind = forms.ChoiceField(choices=DayKind.choices, initial=DayKind.WORKING, label="Counted in")
    decided_on = PastDayField(label="Decided on")
    decided_by_name = forms.CharField(max_length=120, label="Decided by")

    def clean(self) -> dict[str, Any]:
        """The form says beside the field what the table would only refuse."""
        data = super().clean() or {}
        if data.get("decision") == WearDecision.Decision.LIMITS and not data.get("limits"):
            self.add_error("limits", "Say what the limits are.")
        if data.get("rest_minutes") and not data.get("minutes_limit"):
            self.add_error("minutes_limit", "Say how many minutes at a time, before the rest.")
        if data.get("decision") == WearDecision.Decision.REPAIR:
            if not data.get("repair"):
                self.add_error("repair", "Say what must be repaired.")
            if data.get("repair_days") is None and "repair_days" not in self.errors:
                self.add_error("repair_days", "Say how many days the repair takes.")
        return data


class HazardForm(PlainForm):
    """What was found about one hazard."""

    hazard = forms.ChoiceField(choices=[("", "choose one"), *((code, words.name) for code, words in HAZARDS.items())])
    state = forms.ChoiceField(choices=HazardFinding.State.choices, widget=forms.RadioSelect)
    note = forms.CharField(max_length=200, required=False, help_text="How it was tested. Needed to clear it.")
    found_on = PastDayField(label="Found on")
    found_by_name = forms.CharField(max_length=120, label="Found by")


class PackForm(PlainForm):
    """A power pack, as it was seen."""

    chemistry = forms.ChoiceField(choices=BatteryPack.Chemistry.choices, initial=BatteryPack.Chemistry.UNKNOWN)
    energy_wh = forms.DecimalField(
        max_digits=7,
        decimal_places=2,
        required=False,
        label="Energy in Wh",
        help_text="On the pack; volts times amp-hours where only those stand there. Empty is unknown.",
    )
    state = forms.ChoiceField(choices=BatteryPack.State.choices, widget=forms.RadioSelect)
    placed = forms.ChoiceField(
        choices=BatteryPack.Placed.choices, initial=BatteryPack.Placed.UNKNOWN, label="Where it is"
    )
    lithium_g = forms.DecimalField(
        max_digits=6, decimal_places=2, required=False, label="Lithium in g", help_text="Only for lithium metal."
    )
    charge_percent = forms.IntegerField(min_value=0, max_value=100, required=False, label="Charge in %")
    seen_on = PastDayField(label="Seen on")
    removed_on = PastDayField(label="Taken out for good on", required=False)


class TreatmentForm(PlainForm):
    """Work that the piece needs."""

    what = forms.CharField(max_length=200, label="What must be done")
    days = forms.IntegerField(min_value=0, max_value=999, required=False)
    day_kind = forms.ChoiceField(choices=DayKind.choices, initial=DayKind.WORKING, label="Counted in")
    against_pests = forms.BooleanField(
        required=False,
        label="Against pests or mould",
        help_text="For example freezing or low oxygen. Until it is done the piece may not be pulled, sent out or "
        "released from quarantine.",
    )
    cleaning = forms.BooleanField(
        required=False,
        label="It takes something off",
        help_text="Washing, brushing, wiping, steaming, polishing. Where its dirt was on screen, or nobody has said, "
        "somebody approves it by name before it begins.",
    )


class BreakdownForm(PlainForm):
    """Whether what is on the piece was on screen."""

    state = forms.ChoiceField(
        choices=OnScreenBreakdown.State.choices,
        widget=forms.RadioSelect,
        label="Salt, mud, soot, tears",
        help_text="What was seen in the film is part of the look, not dirt.",
    )
    where = forms.CharField(max_length=160, required=False, help_text="For example: salt line to the hip, scene 12.")
    said_on = PastDayField(label="Said on")
    said_by_name = forms.CharField(max_length=120, label="Said by")


class ApproveForm(PlainForm):
    """Who approves that something of the breakdown goes."""

    approved_by_name = forms.CharField(
        max_length=120, label="Approved by", help_text="The person who answers for the look, by name."
    )
    approved_on = PastDayField(label="Approved on")
    approved_how_far = forms.CharField(
        max_length=200,
        label="How far",
        help_text="What may go and what stays, for example: loose sand may go, the salt line stays.",
    )


class PestHoldForm(PlainForm):
    """How and since when a piece is held against pests."""

    method = forms.ChoiceField(
        choices=[(one.key, one.words) for one in METHODS.values()],
        widget=forms.RadioSelect,
        label="Held against pests by",
        error_messages={"required": "Choose how it is held against pests."},
    )
    started_on = PastDayField(label="Began on")


class CallOffForm(PlainForm):
    """Why work is not done after all."""

    reason = forms.CharField(max_length=160, help_text="For example: no insects found after two weeks in the trap.")


class QuarantineForm(PlainForm):
    """Keep a piece apart."""

    reason = forms.CharField(max_length=160, help_text="For example: back from a loan, moth seen.")
    opened_on = PastDayField(label="From")
    due_on = DayField(label="Check it on")


class ReleaseForm(PlainForm):
    """Let a piece out of quarantine."""

    findings = forms.CharField(max_length=200, help_text="What was looked for and found, for example: no insects.")
    released_on = PastDayField(label="Released on")


class AlterationForm(PlainForm):
    """A change of size that can be undone. There is no way to cut, dye or glue."""

    what = forms.CharField(max_length=160, help_text="For example: sleeve let down, wide tack in a contrasting thread.")
    goes_back = forms.BooleanField(
        required=False,
        label="It goes back all the same",
        help_text="Only where a word above sounds like cutting, dyeing or gluing and means something else.",
    )
    way = forms.ChoiceField(choices=Alteration.Way.choices, widget=forms.RadioSelect)
    seam = forms.CharField(max_length=80, label="Where", help_text="Which seam or hem, for example: cuff hem, both.")
    point = forms.ChoiceField(
        choices=[("", "none")] + [(p.key, p.word) for p in POINTS.values()], required=False, label="Changes the measure"
    )
    change_mm = LengthField(required=False, label="By how much")
    done_on = PastDayField(label="Done on")
    done_by_name = forms.CharField(max_length=120, label="Done by")
    undo_by = DayField(required=False, label="Undo by")
    for_number = forms.CharField(
        max_length=8,
        required=False,
        label="For performer number",
        help_text="As on the list, for example A12; no name.",
    )

    def clean(self) -> dict[str, Any]:
        """Taken in counts below zero; a change of size is one or the other."""
        data = super().clean() or {}
        way, change = data.get("way"), data.get("change_mm")
        if change and way == Alteration.Way.OTHER:
            self.add_error("change_mm", "Say whether it was let out or taken in, or leave the change empty.")
        if change and not data.get("point") and "point" not in self.errors:
            self.add_error("point", "Say at which point the size changed.")
        if change and way == Alteration.Way.IN:
            data["change_mm"] = -change
        return data
