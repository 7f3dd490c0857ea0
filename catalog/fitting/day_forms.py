"""The question of a fitting list: which day, from when, how long each, and the pause."""

from datetime import date
from typing import Any

from django import forms

from catalog.core import clock
from catalog.core.form_fields import DayField
from catalog.core.plain_forms import PlainForm


class FittingDayForm(PlainForm):
    """All of it has a start value, so that the list is there before anything is asked."""

    day = DayField(label="Day")
    start = forms.TimeField(label="First fitting at", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
    minutes = forms.IntegerField(label="Minutes each", min_value=5, max_value=240)
    pause_at = forms.TimeField(
        label="Pause at", required=False, widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    )
    pause_minutes = forms.IntegerField(label="Pause in minutes", min_value=0, max_value=240, required=False)
    leave_out = forms.MultipleChoiceField(
        label="Not on this day", required=False, widget=forms.CheckboxSelectMultiple, help_text="They come another day."
    )

    def __init__(self, *args: Any, people: list[tuple[str, str]], **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["leave_out"].choices = people  # type: ignore[attr-defined]

    def clean_day(self) -> date:
        day: date = self.cleaned_data["day"]
        if day < clock.today():
            raise forms.ValidationError(f"{day:%-d %b %Y} has passed. Give a day that is still to come, or today.")
        return day
