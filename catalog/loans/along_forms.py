"""What is asked of the drawing of holds along time."""

from datetime import timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from catalog.core import clock
from catalog.core.form_fields import DayField
from catalog.core.plain_forms import PlainForm
from catalog.loans.along_queries import MOST_DAYS, pieces_of


class AlongForm(PlainForm):
    """A piece, a set or a role, and the days."""

    of = forms.CharField(
        label="Piece, set or role",
        max_length=1500,
        help_text="A piece number, the code of a set, or the code or name of a role.",
        error_messages={"required": "Name a piece, a set or a role."},
    )
    first = DayField(label="From", required=False, help_text="Empty: from today.")
    last = DayField(label="To", required=False, help_text="Empty: to the end of the last hold.")

    def clean_of(self) -> Any:
        """The heading and the pieces."""
        what, pieces = pieces_of(self.cleaned_data["of"])
        if not pieces:
            raise ValidationError(f"No piece, set or role is called {self.cleaned_data['of'][:40]}.")
        return what, pieces

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if "first" in data:
            data["first"] = data["first"] or clock.today()
        first, last = data.get("first"), data.get("last")
        if first and last and last < first:
            self.add_error("last", "The last day comes on or after the first day.")
        elif first and last and last - first > timedelta(days=MOST_DAYS):
            self.add_error("last", f"Ask for at most {MOST_DAYS} days: more cannot be read from a drawing.")
        return data
