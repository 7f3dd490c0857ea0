"""One form field a point, typed and shown as the trade does: a length, an EU shoe size, a glove size in inches."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from catalog.core import house
from catalog.core.form_fields import LengthField
from catalog.core.units import LengthUnit, show_length
from catalog.pieces.calc.kinds import Point, eu_of_mm, impossible, inch_of_mm, marked, mm_of_eu


class EuSizeField(forms.FloatField):
    """An EU shoe size; what comes out is the last length in mm."""

    def to_python(self, value: Any) -> Any:
        size = super().to_python(str(value).replace(",", ".") if value not in self.empty_values else value)
        return None if size is None else mm_of_eu(size)

    def prepare_value(self, value: Any) -> Any:
        return f"{eu_of_mm(value):g}" if isinstance(value, int) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Sizes are shown to the half; what comes back untouched is no change."""
        return str(self.prepare_value(initial) or "") != str(data or "").strip()


class GloveSizeField(LengthField):
    """A glove size: the hand's girth in inches, whatever the reader's own unit is."""

    def __init__(self, **options: Any) -> None:
        super().__init__(unit="in", help_text="Glove size in inches, for example 8.5.", **options)

    def to_python(self, value: Any) -> Any:
        try:
            return super().to_python(value)
        except ValidationError as wrong:
            raise ValidationError("Type the glove size in inches, for example 8.5.") from wrong

    def prepare_value(self, value: Any) -> Any:
        return f"{inch_of_mm(value):g}" if isinstance(value, int) else value


def measure_field(point: Point, unit: LengthUnit, letter: str = "") -> forms.Field:
    """The field of a point; `letter` is its letter in the drawing. It refuses what cannot be true for the point."""
    label = f"{letter}  {point.word}" if letter else point.word
    options: dict[str, Any] = {"label": label.strip(), "required": False, "validators": [_possible(point, unit)]}
    if point.shown == "eu_shoe":
        widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        invalid = {"invalid": "Type the EU size, for example 42 or 42.5."}
        return EuSizeField(widget=widget, help_text="EU size as stamped.", error_messages=invalid, **options)
    if point.shown == "glove_inch":
        return GloveSizeField(**options)
    return LengthField(unit=unit, help_text=f"{point.how}, in {unit}", **options)


def show_measure(point: Point, value_mm: int, unit: LengthUnit) -> str:
    """A measure as the trade says it: "EU 42", "8.5 in", else a length in the reader's unit."""
    if point.shown == "length":
        return show_length(value_mm, unit)
    return marked(point, value_mm)


def let_out_field(unit: LengthUnit, stays_mm: int) -> LengthField:
    """How far the seam can be let out; `stays_mm` is what the house leaves in it."""
    return LengthField(
        unit=unit,
        required=False,
        label="Let-out reserve",
        help_text=f"Spare cloth in the seam, less the {show_length(stays_mm, unit)} that stays in it; in {unit}.",
    )


def stays_in_seam() -> int:
    """How much cloth the house leaves in a seam that is let out, in mm; one query."""
    return int(house.value("alter.stays_in_seam_mm"))


def _possible(point: Point, unit: LengthUnit) -> Any:
    def judge(value: int) -> None:
        if wrong := impossible(point.key, value, unit):
            raise ValidationError(wrong, code="impossible")

    return judge
