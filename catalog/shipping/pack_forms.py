"""Forms of packing: a kind of crate, a scan into a crate, seal and scale."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from catalog.access.models import User
from catalog.core.form_fields import LengthField, WeightField, length_unit, weight_unit
from catalog.core.plain_forms import PlainForm
from catalog.loans.models import Loan
from catalog.shipping.pack_models import CrateSpec, PackCrate

_SIDES = ("length", "width", "height")


class CrateKindForm(PlainForm):
    """A kind of crate: inside, outside, weights, how many."""

    code = forms.CharField(label="Code", max_length=20, help_text="Short, as it is said: trunk, long case.")
    name = forms.CharField(label="Name", max_length=120)
    inner_length = LengthField(label="Inside, length", bounds=(50, 10_000))
    inner_width = LengthField(label="Inside, width", bounds=(50, 10_000))
    inner_height = LengthField(label="Inside, height", bounds=(50, 10_000))
    outer_length = LengthField(label="Outside, length", bounds=(50, 10_000))
    outer_width = LengthField(label="Outside, width", bounds=(50, 10_000))
    outer_height = LengthField(label="Outside, height", bounds=(50, 10_000))
    tare = WeightField(label="Weight when empty", bounds=(1, 1_000_000))
    max_gross = WeightField(label="May weigh when full", bounds=(2, 2_000_000))
    by_hand = forms.BooleanField(
        label="Carried by hand", required=False, help_text="Then it weighs at most what two people may lift here."
    )
    how_many = forms.IntegerField(
        label="How many there are", required=False, min_value=0, max_value=9999, help_text="Empty: as many as needed."
    )
    active = forms.BooleanField(label="In use", required=False)

    def __init__(self, *args: Any, by: User, spec: CrateSpec | None = None, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["code"].disabled = spec is not None
        for field in self.fields.values():
            if isinstance(field, LengthField):
                field.unit = length_unit(by)
                field.help_text = f"In {field.unit}."
            elif isinstance(field, WeightField):
                field.unit = weight_unit(by)
                field.help_text = f"In {field.unit}."
        self.initial = {"active": True, "by_hand": True} if spec is None else _known(spec)

    def clean(self) -> dict[str, Any]:
        """The names of the table's own fields."""
        data = super().clean() or {}
        for where in ("inner", "outer"):
            for side in _SIDES:
                data[f"{where}_{side}_mm"] = data.pop(f"{where}_{side}", None)
        data["tare_g"], data["max_gross_g"] = data.pop("tare", None), data.pop("max_gross", None)
        return data


def _known(spec: CrateSpec) -> dict[str, Any]:
    known: dict[str, Any] = {
        f"{where}_{side}": getattr(spec, f"{where}_{side}_mm") for where in ("inner", "outer") for side in _SIDES
    }
    plain = ("code", "name", "by_hand", "how_many", "active")
    return known | {"tare": spec.tare_g, "max_gross": spec.max_gross_g} | {n: getattr(spec, n) for n in plain}


class PutForm(PlainForm):
    """A scan, and into which crate when it is not the one that the piece is meant for."""

    code = forms.CharField(label="Piece", max_length=200, error_messages={"required": "Scan a label or type a number."})
    crate = forms.ChoiceField(label="Into", required=False)
    anyway = forms.CharField(
        label="Why it goes there all the same", required=False, max_length=200, help_text="Only when you were asked."
    )

    def __init__(self, *args: Any, loan: Loan, **options: Any) -> None:
        super().__init__(*args, **options)
        self.crates = {
            f"crate {one.number}": one for one in PackCrate.objects.filter(loan=loan).select_related("place")
        }
        self.kinds = {f"new {one.code}": one for one in CrateSpec.objects.filter(active=True)}
        choices = [("", "the crate it is meant for"), *((key, key) for key in self.crates)]
        self.fields["crate"] = forms.ChoiceField(
            label="Into", required=False, choices=[*choices, *((key, f"a {key}") for key in self.kinds)]
        )

    def clean_code(self) -> str:
        """Without the spaces that a scanner adds."""
        code = str(self.cleaned_data["code"]).strip()
        if not code:
            raise ValidationError("Scan a label or type a number.")
        return code

    def where(self) -> dict[str, Any]:
        """The chosen crate or kind, as the action takes it."""
        chosen = self.cleaned_data["crate"]
        return {"crate": self.crates.get(chosen), "new_kind": self.kinds.get(chosen)}


class CrateForm(PlainForm):
    """Seal numbers and the scale."""

    seal = forms.CharField(label="Seal numbers", required=False, max_length=120)
    weighed = WeightField(label="Weighed, with all that is in it", required=False, bounds=(1, 2_000_000))

    def __init__(self, *args: Any, by: User, crate: PackCrate, **options: Any) -> None:
        super().__init__(*args, **options)
        field = self.fields["weighed"]
        if isinstance(field, WeightField):
            field.unit = weight_unit(by)
            field.help_text = f"In {field.unit}, as the scale says."
        self.initial = {"seal": crate.seal, "weighed": crate.weighed_g}
