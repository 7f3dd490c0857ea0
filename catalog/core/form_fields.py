"""Form fields for lengths and weights as people type them; what comes out is whole millimetres and whole grams."""

import re
from datetime import date
from typing import Any

from django import forms
from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.core.exceptions import ValidationError

from catalog.core import clock
from catalog.core.days import FIRST_DAY, ONE_DAY, wrong_past_day
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


class PastDayField(DayField):
    """The day of something that has happened: today at the latest, and not impossibly long ago."""

    def __init__(self, *, label: str, **options: Any) -> None:
        super().__init__(label=label, **options)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """The browser's calendar starts in a year that can be meant."""
        return {**super().widget_attrs(widget), "min": FIRST_DAY.isoformat()}

    def clean(self, value: Any) -> Any:
        day = super().clean(value)
        if day and (wrong := wrong_past_day(day, clock.today(), str(self.label))):
            raise ValidationError(wrong, code="not_past")
        return day


class DaysField(forms.CharField):
    """Days, one on each line or with commas, also as a run: "24 Dec 2026 to 1 Jan 2027". What comes out is sorted."""

    MOST = 1000

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}))
        super().__init__(**options)

    def to_python(self, value: Any) -> Any:
        found: set[date] = set()
        for words in re.split(r"[\n,;]+", super().to_python(value) or ""):
            if words.strip():
                found.update(self._run(" ".join(words.split())))
        if len(found) > self.MOST:
            raise ValidationError(f"{self.label}: at most {self.MOST} days can be kept. Leave out years long past.")
        return sorted(found)

    def prepare_value(self, value: Any) -> Any:
        """Runs of days stand on one line, as people write them."""
        if not isinstance(value, list):
            return value
        days = sorted(date.fromisoformat(day) if isinstance(day, str) else day for day in value)
        runs: list[list[date]] = []
        for day in days:
            if runs and day - runs[-1][-1] == ONE_DAY:
                runs[-1].append(day)
            else:
                runs.append([day])
        return "\n".join(" to ".join(f"{day:%-d %b %Y}" for day in dict.fromkeys((run[0], run[-1]))) for run in runs)

    def _run(self, words: str) -> list[date]:
        ends = [self._day(word, words) for word in re.split(r"\s+to\s+", words)]
        first, last = ends[0], ends[-1]
        if len(ends) > 2 or last < first or (last - first).days > self.MOST:
            raise ValidationError(f"{self.label}: “{words[:40]}” does not run from a day to a later one.")
        return [first + ONE_DAY * step for step in range((last - first).days + 1)]

    def _day(self, word: str, line: str) -> date:
        try:
            day: date = forms.DateField().clean(word)
        except ValidationError as wrong:
            sentence = f"{self.label}: “{line[:40]}” is no day. Give it like 25 Dec 2026, or 24 Dec 2026 to 1 Jan 2027."
            raise ValidationError(sentence) from wrong
        return day


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
