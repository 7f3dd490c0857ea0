"""Form fields for lengths and weights as people type them; what comes out is whole millimetres and whole grams."""

from typing import Any

from django import forms
from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.core.exceptions import ValidationError

from catalog.core.units import (
    LengthUnit,
    UnitError,
    WeightUnit,
    bare_length,
    bare_weight,
    read_length_mm,
    read_weight_g,
    wrong_length,
    wrong_weight,
)


def length_unit(user: AbstractBaseUser | AnonymousUser) -> LengthUnit:
    """The unit in which this reader types and reads lengths."""
    return "in" if getattr(user, "units", "") == "inches" else "cm"


def weight_unit(user: AbstractBaseUser | AnonymousUser) -> WeightUnit:
    """The unit in which this reader types and reads weights."""
    return "lb" if length_unit(user) == "in" else "kg"


class LengthField(forms.CharField):
    """A length in the reader's unit, or with a unit of its own ("38 in"); None when left empty.

    `bounds`: the shortest and longest that can be true, in mm; outside them a unit was swapped or a digit slipped.
    """

    def __init__(self, *, unit: LengthUnit = "cm", bounds: tuple[int, int] | None = None, **options: Any) -> None:
        self.unit, self.bounds = unit, bounds
        options.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        options.setdefault("help_text", f"In {unit}.")
        super().__init__(**options)

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        try:
            if self.bounds is not None and (wrong_size := wrong_length(text, self.unit, *self.bounds)):
                raise ValidationError(f"{self.label}: {wrong_size}", code="impossible")
            return read_length_mm(text, self.unit)
        except UnitError as wrong:
            raise ValidationError(str(wrong), code="no_length") from wrong

    def prepare_value(self, value: Any) -> Any:
        return bare_length(value, self.unit) if isinstance(value, int) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        """What was shown and comes back untouched is no change, even where showing it rounded."""
        return str(self.prepare_value(initial) or "") != str(data or "").strip()


class WeightField(forms.CharField):
    """A weight in the reader's unit, or with a unit of its own ("800 g"); None when left empty.

    `bounds`: the lightest and heaviest that can be true, in g.
    """

    def __init__(self, *, unit: WeightUnit = "kg", bounds: tuple[int, int] | None = None, **options: Any) -> None:
        self.unit, self.bounds = unit, bounds
        options.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        options.setdefault("help_text", f"In {unit}, or with its unit: 800 g.")
        super().__init__(**options)

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        try:
            if self.bounds is not None and (wrong_size := wrong_weight(text, self.unit, *self.bounds)):
                raise ValidationError(f"{self.label}: {wrong_size}", code="impossible")
            return read_weight_g(text, self.unit)
        except UnitError as wrong:
            raise ValidationError(str(wrong), code="no_weight") from wrong

    def prepare_value(self, value: Any) -> Any:
        # To the gram, so that opening and saving a form does not round what was weighed.
        return bare_weight(value, self.unit) if isinstance(value, int) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        """What was shown and comes back untouched is no change."""
        return str(self.prepare_value(initial) or "") != str(data or "").strip()


class DayField(forms.DateField):
    """A day, chosen in the browser's own calendar."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        super().__init__(**options)


class PictureField(forms.FileField):
    """A picture's bytes, or None. What is in them is judged by core.pictures when it is stored."""

    ACCEPT = "image/jpeg,image/png,image/webp"

    def __init__(self, *, camera: bool = False, **options: Any) -> None:
        attrs = {"accept": self.ACCEPT}
        if camera:
            attrs["capture"] = "environment"
        options.setdefault("widget", forms.FileInput(attrs=attrs))
        super().__init__(**options)

    def clean(self, data: Any, initial: Any = None) -> Any:
        upload = super().clean(data, initial)
        return upload.read() if upload else None
