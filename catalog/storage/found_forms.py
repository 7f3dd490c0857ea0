"""What is typed about a found thing."""

from typing import Any

from django import forms

from catalog.access.models import User
from catalog.core.form_fields import WeightField, length_unit
from catalog.core.plain_forms import PlainForm
from catalog.pieces.calc.kinds import KINDS, POINTS
from catalog.pieces.forms import NamesField, PictureField
from catalog.pieces.measure_fields import measure_field
from catalog.pieces.models import Piece, Production
from catalog.pieces.production_models import Kinds
from catalog.storage.forms import PlaceField, StorageForm, ThingField
from catalog.storage.missing_models import FoundThing


class FoundThingForm(StorageForm):
    """The thing as it lies in the hand. What is not known stays empty."""

    name = forms.CharField(max_length=160, label="What it is", help_text="For example: left gauntlet, brown rubber.")
    kind = forms.ChoiceField(choices=[("", "choose the kind"), *Kinds.choices])
    place = PlaceField(label="Where it lies now", help_text="Scan or type the place.")
    picture = PictureField(label="Picture", required=False, help_text="It is compared with what is missing.")
    production = forms.ModelChoiceField(Production.objects.all(), required=False, empty_label="not known")
    materials = NamesField(required=False, help_text="With commas: rubber, canvas.")
    size_mark = forms.CharField(max_length=20, required=False, label="Size mark", help_text="As it stands in it.")
    weight_g = WeightField(required=False, label="Weight")
    note = forms.CharField(max_length=200, required=False, label="How it was found")


class FoundMeasuresForm(PlainForm):
    """The points of its kind; an empty one stays not measured."""

    def __init__(self, *args: Any, found: FoundThing, by: User, **options: Any) -> None:
        known = {f"m_{row.point}": row.value_mm for row in found.measures.all()}
        options["initial"] = known | (options.get("initial") or {})
        super().__init__(*args, **options)
        unit = length_unit(by)
        for key in KINDS[found.kind].points:
            self.fields[f"m_{key}"] = measure_field(POINTS[key], unit)

    def values_mm(self) -> dict[str, int]:
        """What was measured, by point."""
        return {key.removeprefix("m_"): value for key, value in self.cleaned_data.items() if value is not None}


class FoundPictureForm(PlainForm):
    """One more picture."""

    picture = PictureField(label="Picture", help_text="JPEG, PNG or WebP, from the front if you can.")


class KnownForm(StorageForm):
    """The number of the piece that it is."""

    piece = ThingField(label="Its number", help_text="Of a missing piece, or of one just recorded for it.")

    def clean_piece(self) -> Piece:
        """A piece; a place is none."""
        thing = self.cleaned_data["piece"]
        if not isinstance(thing, Piece):
            raise forms.ValidationError(f"{thing} is a place, not a piece: type the piece's number.")
        return thing
