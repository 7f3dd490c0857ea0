"""What is typed when a trunk comes in and when it is unpacked: little, because the other arm is full."""

from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError

from catalog.core.form_fields import PictureField, WeightField
from catalog.pieces.calc.kinds import KINDS
from catalog.pieces.forms import NamesField
from catalog.pieces.models import Production
from catalog.pieces.queries import next_number
from catalog.storage import readings
from catalog.storage.forms import CodeField, PlaceField, StorageForm, ThingField
from catalog.storage.models import Place, PlaceKind
from catalog.storage.receiving_models import Receipt

_COUNT = {"inputmode": "numeric", "autocomplete": "off"}
_CONTAINERS = [(kind.value, kind.label) for kind in PlaceKind if kind in Place.CONTAINERS]


class ArrivalField(CodeField):
    """The label on what came in: a blank that was stuck on it, or a trunk that we know."""

    def clean(self, value: Any) -> readings.Reading | None:
        """What was read: its `blank` or its `place`; or a sentence."""
        text = forms.CharField.clean(self, value)
        if not text:
            return None
        found = readings.read(text, self.by)
        if found.blank is not None or (found.place is not None and found.place.is_container):
            return found
        if found.thing is not None:
            what = "a piece" if found.piece else f"a {found.place.get_kind_display()}" if found.place else ""
            raise ValidationError(f"{found.text} is {what}, not a trunk: scan the label on the trunk.")
        near = ", ".join(readings.name_of(thing) for thing in found.suggestions)
        also = f" Did you mean {near}?" if near else ""
        raise ValidationError(f"{found.problem}{also} Leave this empty and the trunk is given a number.")


class ReceiveForm(StorageForm):
    """A trunk on arrival. Only where it is put is needed; nobody opens it for this."""

    label = ArrivalField(
        required=False,
        label="Label on it",
        help_text="Scan the blank you stuck on, or the code of a trunk we know. Empty: it is given the next number.",
    )
    said = forms.IntegerField(
        required=False,
        min_value=0,
        max_value=5000,
        label="Pieces said to be in it",
        help_text="As the delivery note or the label says.",
        widget=forms.TextInput(attrs=_COUNT),
    )
    seal = forms.CharField(
        max_length=40, required=False, label="Seal number", widget=forms.TextInput(attrs=dict(CodeField.ATTRS))
    )
    gross_g = WeightField(required=False, label="Weight as it stands", bounds=(100, 2_000_000))
    production = forms.ModelChoiceField(
        Production.objects.all(), required=False, to_field_name="code", empty_label="not known yet"
    )
    place = PlaceField(label="Put at", help_text="A quarantine place, bench, freezer or the dock.")
    kind = forms.ChoiceField(choices=_CONTAINERS, initial=PlaceKind.TRUNK, label="What it is")
    name = forms.CharField(max_length=160, required=False, label="What is written on it")
    note = forms.CharField(max_length=300, required=False, label="Note", help_text="Who brought it, wet or damaged.")

    def facts(self) -> dict[str, Any]:
        """The cleaned values under the names that the action takes."""
        facts = dict(self.cleaned_data)
        found = facts.pop("label")
        facts["container"] = found.place if found else None
        facts["label"] = found.blank.code if found and found.blank else ""
        return facts


class UnpackForm(StorageForm):
    """One thing out of a trunk. The production is the trunk's; where that is not known it is asked once."""

    kind = forms.ChoiceField(choices=[("", "choose"), *((kind.key, kind.word) for kind in KINDS.values())])
    name = forms.CharField(
        max_length=160, help_text="What one sees: pea coat, navy wool.", widget=forms.TextInput({"autofocus": True})
    )
    number = forms.CharField(max_length=30, required=False, widget=forms.TextInput(attrs=dict(CodeField.ATTRS)))
    picture = PictureField(required=False, camera=True, label="Picture")
    kept = forms.CharField(max_length=64, required=False, widget=forms.HiddenInput)
    production = forms.ModelChoiceField(Production.objects.all(), to_field_name="code", empty_label="choose")
    label = forms.CharField(
        max_length=80,
        required=False,
        label="Label on it",
        help_text="Scan the blank that you tie or sew on, or type its code.",
        widget=forms.TextInput(attrs=dict(CodeField.ATTRS)),
    )
    parts = NamesField(required=False, label="Parts that can get lost alone", help_text="With commas: belt, badge.")
    client_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)

    def __init__(self, *args: Any, receipt: Receipt, last: Production | None = None, **options: Any) -> None:
        production = receipt.production or last
        offered = next_number(production) if production else ""
        known = {"number": offered, "production": production.code if production else ""}
        options["initial"] = {**known, **(options.get("initial") or {})}
        super().__init__(*args, **options)
        self.receipt = receipt
        # By its own button: nobody knows yet what it belongs to, so it gets a temporary number.
        self.unclear = "unclear" in self.data
        self.fields["production"].required = not self.unclear
        if receipt.production is not None:
            del self.fields["production"]
        self.fields["number"].help_text = (
            f"The next free one: {offered}." if offered else "Empty: the next one of the production."
        )

    def clean(self) -> dict[str, Any]:
        """The production is the trunk's where that is known; an empty number is the next one."""
        data = super().clean() or {}
        data["production"] = self.receipt.production or data.get("production")
        if data["production"] is not None and not data.get("number") and not self.unclear:
            data["number"] = next_number(data["production"])
        return data


class KnownForm(StorageForm):
    """A piece that has its number already."""

    code = ThingField(label="Its number or label", help_text="For example from the wrap list that was loaded.")
    client_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)


class AllListedForm(StorageForm):
    """Why the count differs, where it does."""

    note = forms.CharField(max_length=200, required=False, label="Why the count differs")


class ReleaseTrunkForm(StorageForm):
    """What was looked at and found."""

    findings = forms.CharField(max_length=200, required=False, label="What was looked at and found")
