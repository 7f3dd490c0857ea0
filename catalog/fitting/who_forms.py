"""The question of the map: which role, when, compared with which survey, and whose call."""

from collections.abc import Sequence
from typing import Any

from django import forms

from catalog.core.form_fields import DayField
from catalog.core.plain_forms import PlainForm
from catalog.pieces.models import Role


class WhoForm(PlainForm):
    """All but the role may be left out; of a call the role with most places is asked first."""

    role = forms.ChoiceField(required=False)
    first = DayField(label="From", required=False, help_text="Empty: as the store stands today.")
    last = DayField(label="To", required=False, help_text="Empty: the first day alone.")
    shape = forms.ChoiceField(
        label="Compare with",
        choices=[("either", "either survey"), ("m", "men's survey"), ("f", "women's survey")],
        required=False,
        help_text="Which survey the estimates lean on.",
    )

    sizes = forms.ChoiceField(
        label="Performers by",
        choices=[("best", "the best sizes known"), ("card", "their cards alone")],
        required=False,
        help_text="By cards alone it tells who is a risk at the fitting.",
    )

    def __init__(
        self, *args: Any, roles: Sequence[Role], with_days: bool, with_sizes: bool = False, **options: Any
    ) -> None:
        super().__init__(*args, **options)
        if not with_sizes:
            del self.fields["sizes"]
        self.fields["role"].choices = [(role.code, f"{role.name}, {role.production.code}") for role in roles]  # type: ignore[attr-defined]
        if not with_days:
            del self.fields["first"], self.fields["last"]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        first, last = data.get("first"), data.get("last")
        if last and not first:
            self.add_error("first", "Give the first day as well.")
        if first and last and last < first:
            self.add_error("last", "The last day comes on or after the first day.")
        return data
