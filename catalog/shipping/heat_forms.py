"""An hour of weather as somebody reads it, and what each role wears."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from catalog.core.form_fields import WeightField
from catalog.core.plain_forms import PlainForm
from catalog.core.units import WeightUnit
from catalog.loans.call_actions import whole_days
from catalog.loans.models import Call
from catalog.pieces.models import Role
from catalog.shipping.calc.heat_dress import WORDS
from catalog.shipping.calc.heat_limits import RATES
from catalog.shipping.heat_actions import NewHour, Worn
from catalog.shipping.heat_models import HeatDress, WeatherHour

EVERY_DAY = "every"
_NUMBER = {"inputmode": "decimal", "autocomplete": "off"}


class HourForm(PlainForm):
    """One hour, on one day of the call or on every day of it."""

    day = forms.ChoiceField(label="Day")
    hour = forms.TypedChoiceField(
        label="Hour that begins at", coerce=int, choices=[(str(hour), f"{hour:02d}:00") for hour in range(24)]
    )
    temp = forms.DecimalField(
        label="Air temperature (°C)",
        required=False,
        min_value=-50,
        max_value=60,
        max_digits=3,
        decimal_places=1,
        widget=forms.TextInput(attrs=_NUMBER),
        help_text="In the shade. Empty: not known.",
    )
    rh = forms.IntegerField(
        label="Humidity (%)", required=False, min_value=0, max_value=100, widget=forms.TextInput(attrs=_NUMBER)
    )
    sky = forms.ChoiceField(label="Sun or shade", required=False, choices=[("", "not known"), *WeatherHour.Sky.choices])
    wind = forms.DecimalField(
        label="Wind (m/s)",
        required=False,
        min_value=0,
        max_value=90,
        max_digits=3,
        decimal_places=1,
        widget=forms.TextInput(attrs=_NUMBER),
    )
    said_by = forms.CharField(
        label="Who says so", required=False, max_length=120, help_text="Which forecast of which day, or which meter."
    )

    def __init__(self, *args: Any, call: Call, **options: Any) -> None:
        super().__init__(*args, **options)
        self.call = call
        days = [(day.isoformat(), f"{day:%a %-d %b}") for day in whole_days(call)]
        self.fields["day"].choices = [(EVERY_DAY, "every day of use"), *days]  # type: ignore[attr-defined]

    def hours(self) -> list[NewHour]:
        """What was typed, for each day it stands for."""
        found = self.cleaned_data
        days = whole_days(self.call) if found["day"] == EVERY_DAY else [date.fromisoformat(found["day"])]
        return [
            NewHour(day, found["hour"], _tenths(found["temp"]), found["rh"], found["sky"], _tenths(found["wind"]), by)
            for day in days
            for by in [found["said_by"]]
        ]


class DressForm(PlainForm):
    """What every role of the call wears, all by one list."""

    dress_list = forms.ChoiceField(
        label="Clothing list",
        choices=HeatDress.List.choices,
        help_text="The two lists disagree. Choose the one your medic or safety adviser works by; they are not mixed.",
    )

    def __init__(self, *args: Any, call: Call, weight: WeightUnit = "kg", **options: Any) -> None:
        super().__init__(*args, **options)
        there = {row.role_id: row for row in HeatDress.objects.filter(call=call).select_related("role")}
        asked = [need.role for need in call.needs.select_related("role")]
        others = [row.role for row in there.values() if row.role not in asked]
        self.roles: list[Role] = [*asked, *others]
        self.fields["dress_list"].initial = next((row.dress_list for row in there.values()), HeatDress.List.ISO)
        for role in self.roles:
            self._add(role, there.get(role.pk), weight)

    def _add(self, role: Role, row: HeatDress | None, unit: WeightUnit) -> None:
        fields: dict[str, forms.Field] = {
            "dress": forms.ChoiceField(
                label=f"{role.name}: what is worn",
                required=False,
                choices=[("", "not said"), *WORDS.items()],
                initial=row.dress if row else "",
            ),
            "hood": forms.BooleanField(
                label=f"{role.name}: hood or closed helmet", required=False, initial=row.hood if row else False
            ),
            "weight_g": WeightField(
                label=f"{role.name}: weight worn and carried",
                required=False,
                unit=unit,
                bounds=(0, 100_000),
                initial=row.weight_g if row else None,
            ),
            "work": forms.ChoiceField(
                label=f"{role.name}: how hard the work is",
                required=False,
                choices=[("", "not said"), *((rate.key, rate.words) for rate in RATES)],
                initial=row.work if row else "",
                help_text="Without what is carried; its weight is added.",
            ),
            "used": forms.ChoiceField(
                label=f"{role.name}: used to the heat",
                choices=HeatDress.Used.choices,
                initial=row.used if row else HeatDress.Used.NEW,
            ),
            "days_before": forms.IntegerField(
                label=f"{role.name}: days at work in the heat before the first day",
                required=False,
                min_value=0,
                max_value=60,
                initial=row.days_before if row else 0,
                widget=forms.TextInput(attrs={"inputmode": "numeric"}),
            ),
        }
        for name, field in fields.items():
            self.fields[f"{name}_{role.pk}"] = field

    def worn(self) -> list[Worn]:
        """The roles of which something was said."""
        found, rows = self.cleaned_data, []
        for role in self.roles:
            if found[f"dress_{role.pk}"]:
                facts = {name: found[f"{name}_{role.pk}"] for name in ("dress", "hood", "weight_g", "work", "used")}
                rows.append(Worn(role=role, days_before=found[f"days_before_{role.pk}"] or 0, **facts))
        return rows

    def by_role(self) -> Iterator[tuple[Role, list[Any]]]:
        """The fields role by role, for the page."""
        names = ("dress", "hood", "weight_g", "work", "used", "days_before")
        for role in self.roles:
            yield role, [self[f"{name}_{role.pk}"] for name in names]


def _tenths(value: Decimal | None) -> int | None:
    return None if value is None else int(value * 10)
