"""What is typed when a piece is recorded beside an open trunk: little is required, and the rest can follow later."""

from typing import Any

from django import forms

from catalog.care.models import ConditionReport, DayKind, WearDecision
from catalog.core.codes import looks_like_code
from catalog.core.form_fields import PictureField, WeightField
from catalog.core.plain_forms import PlainForm
from catalog.core.units import LengthUnit, WeightUnit
from catalog.pieces.calc.kinds import POINTS, Kind
from catalog.pieces.forms import NO_CHOICE, NamesField
from catalog.pieces.measure_fields import let_out_field, measure_field, stays_in_seam
from catalog.pieces.models import OutfitSet, Piece, Production
from catalog.pieces.queries import next_number
from catalog.storage.queries import label_target, place_by_code

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
NOT_REPORTED = ("", "not reported")
NO_DECISION = ("", "no decision: not for wear")


class PlaceCodeField(forms.CharField):
    """A place by its code, or by its scanned or typed label."""

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        label = label_target(text)
        found = label.place if label else place_by_code(text)
        if found is None:
            what = "label of a place" if looks_like_code(text) else "place"
            raise forms.ValidationError(f"There is no {what} “{text[:30]}”. Scan it again or type the place's code.")
        return found


class RecordForm(PlainForm):
    """A piece of one kind and production, with its picture, measures, parts, label and place."""

    picture = PictureField(required=False, camera=True, label="Picture")
    kept = forms.CharField(max_length=64, required=False, widget=forms.HiddenInput)
    name = forms.CharField(max_length=160, help_text="What one sees: pea coat, navy wool.")
    number = forms.CharField(max_length=30)
    slot = forms.ChoiceField(required=False, label="For which role and slot")
    outfit_set = forms.CharField(
        max_length=30, required=False, label="Set", help_text="Its code, if it is part of one."
    )
    multiple = forms.ChoiceField(choices=[NO_CHOICE, *Piece.Multiple.choices], required=False)
    origin = forms.ChoiceField(choices=Piece.Origin.choices, initial=Piece.Origin.ORIGINAL)
    place = PlaceCodeField(
        required=False, help_text="Scan the trunk or shelf, or type its code. Without one it has no place yet."
    )
    is_home = forms.BooleanField(required=False, initial=True, label="It also belongs there: this is its home")
    label = forms.CharField(
        max_length=80,
        required=False,
        label="Label",
        help_text="Scan the blank that you stick or sew on, or type its code.",
    )
    issue_label = forms.BooleanField(required=False, label="No blank at hand: issue a label to print")
    materials = NamesField(
        required=False,
        help_text="With commas: wool, silk lining. Without materials nobody can say whether it may be worn or travel.",
    )
    weight_g = WeightField(required=False, label="Weight")
    size_mark = forms.CharField(max_length=20, required=False, label="Size mark", help_text="What its label says.")
    parts = NamesField(required=False, label="Parts that can get lost alone", help_text="With commas: belt, badge.")
    look = forms.ChoiceField(required=False, label="Look it is in")
    grade = forms.TypedChoiceField(
        choices=[NOT_REPORTED, *ConditionReport.Grade.choices], coerce=int, empty_value=None, required=False
    )
    stability = forms.ChoiceField(choices=[NOT_REPORTED, *ConditionReport.Stability.choices], required=False)
    completeness = forms.ChoiceField(choices=[NOT_REPORTED, *ConditionReport.Completeness.choices], required=False)
    note = forms.CharField(widget=forms.Textarea(attrs={"rows": 2}), required=False, label="Note on its condition")
    decision = forms.ChoiceField(choices=[NO_DECISION, *WearDecision.Decision.choices], required=False, label="Wear")
    limits = forms.CharField(max_length=200, required=False, help_text="For wear with limits: which.")
    repair = forms.CharField(max_length=200, required=False, help_text="For wear after repair: what must be done.")
    repair_days = forms.IntegerField(min_value=0, max_value=999, required=False, label="Days the repair takes")
    repair_day_kind = forms.ChoiceField(choices=DayKind.choices, initial=DayKind.WORKING, label="Counted in")

    def __init__(
        self, *args: Any, kind: Kind, production: Production, unit: LengthUnit, weight: WeightUnit, **options: Any
    ) -> None:
        self.kind, self.production = kind, production
        options["initial"] = {"number": next_number(production), **(options.get("initial") or {})}
        super().__init__(*args, **options)
        fields: dict[str, Any] = self.fields
        fields["number"].help_text = f"The next one. A replica: {next_number(production, replica=True)}."
        fields["slot"].choices, self.slots = _slots(production, kind)
        fields["look"].choices = [("", "not known"), *((str(look.pk), look.name) for look in production.looks.all())]
        fields["weight_g"].unit, fields["weight_g"].help_text = weight, f"In {weight}, or with its unit: 800 g."
        for name, hint in (("materials", "materials"), ("outfit_set", "sets")):
            fields[name].widget.attrs["list"] = hint
        for name in ("label", "place", "number"):
            fields[name].widget.attrs |= {"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        self.points = [POINTS[key] for key in kind.points]
        stays = stays_in_seam()
        for letter, point in zip(LETTERS, self.points, strict=False):
            self.fields[f"m_{point.key}"] = measure_field(point, unit, letter)
            if point.let_out:
                self.fields[f"out_{point.key}"] = let_out_field(unit, stays)
            self.fields[f"why_{point.key}"] = forms.CharField(
                max_length=120, required=False, label="Not measured, because"
            )

    def measures(self) -> list[dict[str, Any]]:
        """The points that were measured or could not be, as set_measure takes them."""
        rows = [
            {
                "point": key,
                "value_mm": self.cleaned_data.get(f"m_{key}"),
                "let_out_mm": self.cleaned_data.get(f"out_{key}"),
                "not_measured_because": self.cleaned_data.get(f"why_{key}") or "",
            }
            for key in self.kind.points
        ]
        return [row for row in rows if row["value_mm"] is not None or row["not_measured_because"]]

    def measure_rows(self) -> list[tuple[list[forms.BoundField], forms.BoundField]]:
        """Of each point the fields to fill, and the one that says why not, for the page."""
        return [
            ([self[name] for name in (f"m_{key}", f"out_{key}") if name in self.fields], self[f"why_{key}"])
            for key in self.kind.points
        ]

    def clean(self) -> dict[str, Any]:
        """Turn what was chosen into rows, and say beside the field what does not go together."""
        data = super().clean() or {}
        slot = self.slots.get(data.get("slot") or "")
        data["role"], data["slot"] = slot if isinstance(slot, tuple) else (None, None)
        data["look"] = self.production.looks.filter(pk=data["look"]).first() if data.get("look") else None
        if code := data.get("outfit_set"):
            self._clean_set(data, code)
        if data.get("label") and data.get("issue_label"):
            self.add_error("issue_label", "There is a code of a blank: leave this unticked.")
        for key in self.kind.points:
            if data.get(f"out_{key}") is not None and data.get(f"m_{key}") is None and f"m_{key}" not in self.errors:
                self.add_error(f"m_{key}", "Give the measure that the let-out reserve belongs to.")
            if data.get(f"m_{key}") is not None and data.get(f"why_{key}"):
                self.add_error(f"why_{key}", "There is a measure: leave the reason empty.")
        if data.get("decision") == WearDecision.Decision.LIMITS and not data.get("limits"):
            self.add_error("limits", "Say what the limits are.")
        if data.get("decision") == WearDecision.Decision.REPAIR and not data.get("repair"):
            self.add_error("repair", "Say what must be repaired.")
        if data.get("decision") == WearDecision.Decision.REPAIR and data.get("repair_days") is None:
            self.add_error("repair_days", "Say how many days the repair takes.")
        self._clean_condition(data)
        return data

    def _clean_condition(self, data: dict[str, Any]) -> None:
        """A report is whole or is not made: none of its judgements is filled in for whoever looks."""
        told = [data.get("grade") is not None, bool(data.get("stability")), bool(data.get("completeness"))]
        if data.get("note") and not any(told):
            self.add_error("grade", "Choose the grade that the note belongs to.")
        elif any(told):
            for name, said in zip(("grade", "stability", "completeness"), told, strict=True):
                if not said and name not in self.errors:
                    self.add_error(name, f"{name.capitalize()}: nothing was chosen. A report says all three.")

    def _clean_set(self, data: dict[str, Any], code: str) -> None:
        found = OutfitSet.objects.filter(code__iexact=code, role__production=self.production).first()
        if found is None:
            self.add_error(
                "outfit_set", f"There is no set {code} in this production. Leave it empty or add the set first."
            )
            return
        data["outfit_set"] = found
        data["role"] = data["role"] or found.role


def _slots(production: Production, kind: Kind) -> tuple[list[Any], dict[str, Any]]:
    """Choices by role, slots of this kind first, and what each choice means: (role, slot)."""
    choices: list[Any] = [("", "none")]
    meaning: dict[str, Any] = {}
    for role in production.roles.prefetch_related("slots"):
        own: list[tuple[str, str]] = []
        for slot in sorted(role.slots.all(), key=lambda slot: (slot.kind != kind.key, slot.order)):
            meaning[f"s{slot.pk}"] = (role, slot)
            own.append((f"s{slot.pk}", slot.name))
        meaning[f"r{role.pk}"] = (role, None)
        choices.append((role.name, [*own, (f"r{role.pk}", f"{role.name}, no slot")]))
    return choices, meaning
