"""What is typed about productions, roles, looks, slots and sets."""

from django import forms

from catalog.core.form_fields import WeightField
from catalog.core.plain_forms import PlainForm
from catalog.pieces.forms import NamesField
from catalog.pieces.models import Role
from catalog.pieces.production_models import Kinds


class ProductionForm(PlainForm):
    """A production; its code never changes."""

    code = forms.CharField(max_length=12, help_text="Starts the numbers of its pieces: three letters do.")
    title = forms.CharField(max_length=160)
    year = forms.IntegerField(min_value=1880, max_value=2200, required=False)
    world = forms.CharField(max_length=300, required=False, help_text="When and where its story plays.")
    closed = forms.BooleanField(required=False, label="Closed: hidden from visitors")


class ProductionEditForm(ProductionForm):
    """A production without its code."""

    code = None  # type: ignore[assignment]


class RoleForm(PlainForm):
    """Who is dressed."""

    code = forms.CharField(max_length=12)
    name = forms.CharField(max_length=120)
    sort = forms.ChoiceField(choices=Role.Sort.choices)
    sets_made = forms.IntegerField(min_value=0, max_value=10_000, required=False, label="Sets made then")


class LookForm(PlainForm):
    """How a role is dressed at one point of the story."""

    name = forms.CharField(max_length=60, help_text="For example: clean, after the storm.")
    note = forms.CharField(max_length=300, required=False)


class SlotForm(PlainForm):
    """What must be filled before somebody is dressed."""

    code = forms.CharField(max_length=30)
    name = forms.CharField(max_length=160)
    kind = forms.ChoiceField(choices=Kinds.choices)
    order = forms.IntegerField(min_value=0, max_value=999, initial=0, help_text="In which order it is put on.")
    required = forms.BooleanField(required=False, initial=True, label="Nobody is dressed without it")
    match_group = forms.CharField(
        max_length=30, required=False, help_text="Slots of one group must agree in its value."
    )
    usual_materials = NamesField(required=False, help_text="With commas.")
    usual_weight_g = WeightField(required=False, label="Usual weight")
    make_days = forms.IntegerField(min_value=0, max_value=999, required=False, label="Working days to make one")


class SetForm(PlainForm):
    """Pieces that were worn together."""

    code = forms.CharField(max_length=30)
