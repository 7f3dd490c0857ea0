"""Forms about a journey: its countries, and the question whether a piece may go there."""

import re
from typing import Any

from django import forms
from django_countries import countries

from catalog.core.plain_forms import PlainForm
from catalog.shipping.calc.facts import Mode
from catalog.shipping.models import Route

_YES_NO = [("", "not known"), ("yes", "yes"), ("no", "no")]


def country_choices() -> list[tuple[str, str]]:
    """All countries of ISO 3166-1 by name, with their two letters."""
    return [("", "not known"), *((country.code, f"{country.name} ({country.code})") for country in countries)]


def yes_no(label: str, help_text: str = "") -> forms.TypedChoiceField:
    """A question that may stay open."""
    return forms.TypedChoiceField(
        choices=_YES_NO,
        required=False,
        coerce=lambda word: word == "yes",
        empty_value=None,
        label=label,
        help_text=help_text,
    )


class CountriesField(forms.CharField):
    """Countries in order, as names or as two letters, with commas between; a list of codes comes out."""

    def to_python(self, value: Any) -> Any:
        words = [word.strip() for word in re.split(r"[,;]", super().to_python(value) or "") if word.strip()]
        by_name = {country.name.casefold(): country.code for country in countries}
        by_code = {country.code.casefold(): country.code for country in countries}
        codes = []
        for word in words:
            code = by_code.get(word.casefold()) or by_name.get(word.casefold())
            if code is None:
                raise forms.ValidationError(
                    f"{self.label}: “{word[:40]}” is no country here; write its name or two letters, for example FR."
                )
            codes.append(code)
        return codes

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(value) if isinstance(value, list) else value


class RouteForm(PlainForm):
    """Where a shipment starts, passes, is used, and whether all of it comes back."""

    start = forms.ChoiceField(
        choices=country_choices, label="Leaves from", error_messages={"required": "Choose the country it leaves from."}
    )
    through = CountriesField(
        required=False,
        max_length=200,
        label="Passes through",
        help_text="In order, with commas: France, ES. Empty when it goes straight there.",
    )
    goal = forms.ChoiceField(
        choices=country_choices, label="Is used in", error_messages={"required": "Choose the country it is used in."}
    )
    comes_back = yes_no("All of it comes back")
    wood = forms.ChoiceField(
        choices=[("", "not known"), *Route.Wood.choices], required=False, label="Wood of crates, battens and pallets"
    )


class AskForm(RouteForm):
    """May these pieces go there, by which way? Nothing is kept."""

    pieces = forms.CharField(
        max_length=400,
        label="Pieces",
        help_text="Numbers with commas between.",
        error_messages={"required": "Write the number of at least one piece."},
    )
    way = forms.ChoiceField(choices=[("", "every way"), *((m.value, m.label) for m in Mode)], required=False)
    worn = yes_no("Worn or used before the camera")
    field_order = ("pieces", "start", "through", "goal", "way", "worn", "comes_back", "wood")

    def numbers(self) -> list[str]:
        """The numbers as typed, each once."""
        found = [word.strip() for word in re.split(r"[,;\s]+", self.cleaned_data["pieces"]) if word.strip()]
        return list(dict.fromkeys(found))
