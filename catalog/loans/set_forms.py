"""What is typed at the set."""

from collections.abc import Iterable
from typing import Any

from django import forms

from catalog.core.form_fields import PictureField
from catalog.core.plain_forms import PlainForm
from catalog.loans.forms import words
from catalog.loans.models import Wearer
from catalog.pieces.models import Piece, Production


class CloseDayForm(PlainForm):
    """Who takes note of what is still out, and what is known of it."""

    noted_by = forms.CharField(label="Who takes note", max_length=80, required=False)
    note = forms.CharField(
        label="What is known",
        max_length=200,
        required=False,
        help_text="Where it was last and who looks for it. It stays: write a performer's number, not the name.",
    )


class SceneForm(PlainForm):
    """A frame of a scene: who is in it, which pieces, how they are fastened."""

    picture = PictureField(label="Picture", help_text="JPEG, PNG or WebP. Where it was taken is not shown to anybody.")
    scene = words("Scene", "Say which scene.", limit=30)
    story_day = forms.CharField(label="Day of the story", max_length=40, required=False)
    in_it = forms.ChoiceField(
        label="In the picture",
        choices=[("performer", "a performer in look"), ("pieces", "pieces only, nobody")],
        widget=forms.RadioSelect,
        help_text="With a performer in it, it is deleted with that performer's sizes.",
        error_messages={"required": "In the picture: nothing was chosen. Say whether somebody is in it."},
    )
    wearer = forms.ModelChoiceField(
        Wearer.objects.none(), label="Worn by", required=False, to_field_name="number", empty_label="nobody"
    )
    pieces = forms.ModelMultipleChoiceField(
        Piece.objects.none(),
        label="Pieces worn",
        to_field_name="number",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick which pieces are worn."},
    )
    fastened = forms.CharField(
        label="How fastened and worn",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Buttons, collar, sleeves, what is wet or torn. It stays: write a number, not a name.",
    )

    def __init__(self, *args: Any, wearers: Any, seen: Iterable[Piece], by_name: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        wearer, pieces = self.fields["wearer"], self.fields["pieces"]
        wearer.queryset = wearers  # type: ignore[attr-defined]
        wearer.label_from_instance = lambda one: f"{one.number} {one.name if by_name else ''}".strip()  # type: ignore[attr-defined]
        pieces.queryset = Piece.objects.filter(pk__in=[piece.pk for piece in seen]).order_by("number")  # type: ignore[attr-defined]
        pieces.label_from_instance = lambda one: f"{one.number} {one.name}"  # type: ignore[attr-defined]


class HowWornForm(PlainForm):
    """Which scene of which production."""

    production = forms.ModelChoiceField(
        Production.objects.order_by("code"),
        label="Production",
        to_field_name="code",
        error_messages={"required": "Choose the production."},
    )
    scene = words("Scene", "Say which scene.", limit=30)
