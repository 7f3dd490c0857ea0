"""What is typed for a stocktake. Nothing is chosen beforehand where an answer changes a record."""

from typing import Any
from uuid import uuid4

from django import forms

from catalog.pieces.models import Piece
from catalog.pieces.production_models import Kinds
from catalog.storage.forms import CodeField, PlaceField, StorageForm, ThingField
from catalog.storage.stocktake_models import StocktakeDraw


class StartForm(StorageForm):
    """Where, and how much of it."""

    place = PlaceField(label="Count in", help_text="Scan or type a room, a rack, a shelf, or the whole site.")
    draw = forms.ChoiceField(label="What is counted", choices=StocktakeDraw.choices, widget=forms.RadioSelect)
    sample_size = forms.IntegerField(
        label="Pieces drawn at random",
        required=False,
        min_value=0,
        max_value=100_000,
        help_text="Only for a sample, beside all pieces of high value.",
    )


class ScanForm(StorageForm):
    """One scan: the code, and where the counter stands. A repeated id adds nothing."""

    code = forms.CharField(max_length=200, required=False)
    at = forms.CharField(max_length=30, required=False)
    box = forms.IntegerField(required=False)
    client_id = forms.UUIDField(required=False)
    reads = forms.ChoiceField(choices=[("container", "container"), ("thing", "thing")], required=False)


class UnlabelledForm(StorageForm):
    """Something that no code can be scanned of."""

    label = forms.ChoiceField(
        label="Its label",
        choices=[("unreadable", "cannot be read"), ("none", "it has none")],
        widget=forms.RadioSelect,
    )
    what = forms.ChoiceField(
        label="It is",
        choices=[("thing", "a thing"), ("container", "a trunk, crate or box")],
        widget=forms.RadioSelect,
    )
    words = forms.CharField(
        label="What it looks like", max_length=120, help_text="Kind, colour, size, or what can be read of the label."
    )
    at = forms.CharField(max_length=30, required=False, widget=forms.HiddenInput)
    box = forms.IntegerField(required=False, widget=forms.HiddenInput)
    client_id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=uuid4)


class LabelForm(StorageForm):
    """What it is, and which label it gets."""

    thing = ThingField(label="It is", help_text="Scan or type the piece's number, or the code of the trunk.")
    blank = forms.CharField(
        label="Blank stuck on it",
        max_length=40,
        required=False,
        help_text="Scan a printed blank. Empty: a new label is made, to be printed.",
        widget=forms.TextInput(attrs=dict(CodeField.ATTRS)),
    )


class AsFoundForm(StorageForm):
    """What nobody knows: it gets a temporary number."""

    name = forms.CharField(max_length=160, label="What it is", help_text="For example: left gauntlet, brown rubber.")
    kind = forms.ChoiceField(choices=[("", "choose the kind"), *Kinds.choices])


class ReallyForm(StorageForm):
    """The container is another than its label says: three questions, none answered beforehand."""

    is_it = forms.ChoiceField(widget=forms.RadioSelect)
    counted = forms.ModelMultipleChoiceField(
        Piece.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Found in it",
        help_text="What is on its list and is not ticked stays not found, or is looked for by itself.",
    )
    new_label = forms.ChoiceField(label="Its label", widget=forms.RadioSelect, required=False)

    def __init__(self, *args: Any, code: str, seen: list[Piece], **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["is_it"].label = "Which one it is"
        self.fields["is_it"].choices = [  # type: ignore[attr-defined]
            ("yes", f"It is {code}"),
            ("no", f"Not {code}: leave the record as it is"),
        ]
        self.fields["new_label"].choices = [  # type: ignore[attr-defined]
            ("yes", f"Make a new one for {code}"),
            ("no", "Leave the one that is on it"),
        ]
        self.fields["counted"].queryset = Piece.objects.filter(pk__in=[one.pk for one in seen])  # type: ignore[attr-defined]
        self.fields["counted"].label_from_instance = lambda p: f"{p.number} {p.name}"  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """ "All are in it" is an act of its own, said by its own button."""
        data = super().clean() or {}
        if "all_here" in self.data:
            data["counted"] = self.fields["counted"].queryset  # type: ignore[attr-defined]
        elif data.get("is_it") == "yes" and not data.get("counted"):
            self.add_error("counted", "Tick what was found in it, or say that all of it is.")
        if data.get("is_it") == "yes" and not data.get("new_label"):
            self.add_error("new_label", "Its label: say whether a new one is made.")
        return data
