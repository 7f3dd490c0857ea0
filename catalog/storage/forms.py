"""What is typed in this room. A place is typed or scanned by its code, because a store has thousands."""

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError

from catalog.access.models import User
from catalog.core.form_fields import LengthField, PastDayField, WeightField, length_unit, weight_unit
from catalog.core.plain_forms import PlainForm
from catalog.pieces.models import Piece
from catalog.storage import readings
from catalog.storage.label_queries import WHAT
from catalog.storage.labels import PAPERS, SHEETS
from catalog.storage.missing_models import FoundThing, SearchThoroughness
from catalog.storage.models import Place, PlaceKind, RoomMeasure


class CodeField(forms.CharField):
    """A typed or scanned code; `by` is set by the form, so that nobody learns of what they may not see."""

    by: User
    ATTRS: Mapping[str, Any] = {"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.TextInput(attrs=dict(self.ATTRS)))
        super().__init__(**options)

    def reading(self, text: str) -> readings.Reading:
        """What the text means, or a sentence that says why it means nothing."""
        found = readings.read(text, self.by)
        if found.problem:
            near = ", ".join(readings.name_of(thing) for thing in found.suggestions)
            raise ValidationError(f"{found.problem} Did you mean {near}?" if near else found.problem)
        if found.blank is not None:
            raise ValidationError(f"{found.text} is a blank that is on nothing yet: bind it first.")
        return found


class PlaceField(CodeField):
    """A place or container by its code or its label."""

    def clean(self, value: Any) -> Place | None:
        """The place, or a sentence."""
        text = super().clean(value)
        if not text:
            return None
        found = self.reading(text)
        if found.place is None:
            raise ValidationError(f"{found.text} is a piece, not a place: scan the shelf or the trunk.")
        return found.place

    def prepare_value(self, value: Any) -> Any:
        return value.code if isinstance(value, Place) else value


class ThingField(CodeField):
    """A piece or a place by number, code or label."""

    def clean(self, value: Any) -> Piece | Place | FoundThing | None:
        """The thing, or a sentence."""
        text = super().clean(value)
        return self.reading(text).thing if text else None


class PutField(ThingField):
    """What is put down: a piece, a trunk, or a found thing by its temporary number."""

    def clean(self, value: Any) -> Piece | Place | FoundThing | None:
        """The thing, or a sentence."""
        found = readings.read(str(value or ""), self.by).found
        return found if found is not None else super().clean(value)


class StorageForm(PlainForm):
    """A form that knows who fills it in."""

    def __init__(self, *args: Any, by: User, **options: Any) -> None:
        super().__init__(*args, **options)
        for field in self.fields.values():
            if isinstance(field, CodeField):
                field.by = by
            elif isinstance(field, LengthField):
                field.unit = length_unit(by)
                field.help_text = f"In {field.unit}."
            elif isinstance(field, WeightField):
                field.unit = weight_unit(by)
                field.help_text = f"In {field.unit}, or with its unit: 800 g."


class MoveForm(StorageForm):
    """Where to, and why. The hidden id makes a second press of the button harmless."""

    to = PlaceField(
        label="To",
        help_text="Scan or type the code of the shelf, trunk or bench.",
        widget=forms.TextInput(attrs={**CodeField.ATTRS, "autofocus": True}),
    )
    reason = forms.CharField(max_length=200, required=False, label="Why")
    client_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)


class PutForm(StorageForm):
    """Place then many things: what is put here."""

    code = PutField(label="Put here", help_text="Scan or type a piece or a trunk.")


class PlaceForm(StorageForm):
    """A place or container. Which fields make sense depends on the kind; the action says so."""

    code = forms.CharField(max_length=30, help_text="As it stands on the shelf edge; it never changes.")
    name = forms.CharField(max_length=160)
    kind = forms.ChoiceField(choices=PlaceKind.choices)
    parent = PlaceField(required=False, label="Lies in", help_text="The code of the room, rack or shelf around it.")
    home = PlaceField(required=False, label="Home", help_text="Only for what moves: where the trunk belongs.")
    order = forms.IntegerField(
        min_value=0, max_value=100_000, initial=0, label="Walking order", help_text="Among its neighbours; 0 is first."
    )
    target_c = forms.DecimalField(
        required=False, min_value=-40, max_value=40, decimal_places=1, label="Temperature to keep", help_text="In °C."
    )
    target_rh = forms.IntegerField(
        required=False, min_value=0, max_value=100, label="Humidity to keep", help_text="In % RH."
    )
    width_mm = LengthField(required=False, label="Width for hanging or laying")
    measured_by = forms.ChoiceField(
        required=False, choices=[("", "not said"), *RoomMeasure.choices], label="Its width is filled by"
    )
    takes_count = forms.IntegerField(
        required=False,
        min_value=0,
        max_value=100_000,
        label="How many things it takes",
        help_text="Empty: not counted.",
    )
    tare_g = WeightField(required=False, label="Weight of the empty container")
    needs_steps = forms.BooleanField(required=False, label="Steps are needed to reach it")
    note = forms.CharField(max_length=300, required=False)

    def facts(self) -> dict[str, Any]:
        """The cleaned values under the names that the actions take."""
        facts = dict(self.cleaned_data)
        celsius = facts.pop("target_c", None)
        facts["target_c_tenths"] = None if celsius is None else int(celsius * 10)
        return facts


class EditPlaceForm(PlaceForm):
    """The same without what never changes here: the code, and for a container where it is now."""

    def __init__(self, *args: Any, place: Place, **options: Any) -> None:
        super().__init__(*args, **options)
        del self.fields["code"]
        kinds = [kind for kind in PlaceKind if (kind in Place.CONTAINERS) == place.is_container]
        self.fields["kind"].choices = [(kind.value, kind.label) for kind in kinds]  # type: ignore[attr-defined]
        for name in ("parent",) if place.is_container else ("home", "tare_g"):
            del self.fields[name]


class MissingForm(StorageForm):
    """Why it counts as missing, and what is surely known."""

    note = forms.CharField(
        max_length=200, label="What happened", help_text="For example: not on its shelf at the audit."
    )
    last_place = PlaceField(required=False, label="Last sure place", help_text="Empty: where the record has it.")
    last_seen = PastDayField(label="Last surely seen", required=False, help_text="Empty: the last recorded sighting.")


class MoveFoundForm(StorageForm):
    """Where a found thing lies now."""

    to = PlaceField(label="It lies at", help_text="Scan or type the place.")


class SearchForm(StorageForm):
    """One searched place. The hidden id makes a second press of the button harmless."""

    place = PlaceField(label="Searched", help_text="The next place stands here; scan or type another one.")
    thoroughness = forms.ChoiceField(
        choices=SearchThoroughness.choices,
        widget=forms.RadioSelect,
        label="How thoroughly",
    )
    note = forms.CharField(max_length=200, required=False, label="Note")
    client_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)

    def __init__(self, *args: Any, found: bool = False, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["thoroughness"].required = not found


class FoundForm(StorageForm):
    """Where it turned up; for a container also what was counted in it."""

    at = PlaceField(label="Found at", help_text="Scan or type the place where it stands now.")
    note = forms.CharField(max_length=150, required=False, label="How")
    reads = forms.CharField(max_length=40, required=False, widget=forms.HiddenInput)
    counted = forms.ModelMultipleChoiceField(
        Piece.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Counted in it",
        help_text="Open it and count. What is not ticked was not counted and stays not found.",
    )
    new_label = forms.ChoiceField(widget=forms.RadioSelect, label="Its label")

    def __init__(self, *args: Any, content: list[Piece] | None = None, relabel: str = "", **options: Any) -> None:
        super().__init__(*args, **options)
        if relabel:
            words = [("yes", f"Make a new one for {relabel}"), ("no", "Leave the one that is on it")]
            self.fields["new_label"].choices = words  # type: ignore[attr-defined]
        else:
            del self.fields["new_label"]
        if not content:
            del self.fields["counted"]
            return
        choices = Piece.objects.filter(pk__in=[piece.pk for piece in content])
        self.fields["counted"].queryset = choices  # type: ignore[attr-defined]
        self.fields["counted"].label_from_instance = lambda p: f"{p.number} {p.name}"  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """ "All are here" is an act of its own, said by its own button; no tick stands there before somebody looked."""
        data = super().clean() or {}
        if "counted" in self.fields and "all_here" in self.data:
            data["counted"] = self.fields["counted"].queryset  # type: ignore[attr-defined]
        return data


class BlanksForm(StorageForm):
    """How many blanks, on which sheet, from which label on (a sheet may be begun)."""

    count = forms.IntegerField(min_value=1, max_value=500, initial=21, label="How many")
    sheet = forms.ChoiceField(choices=[(key, sheet.words) for key, sheet in SHEETS.items()], label="Sheet")
    start = forms.IntegerField(
        min_value=1, max_value=30, initial=1, label="First free label on the sheet", help_text="1 is the top left."
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        sheet = SHEETS.get(data.get("sheet", ""))
        if sheet and data.get("start", 1) > sheet.on_one:
            self.add_error("start", f"This sheet has {sheet.on_one} labels.")
        return data


class PlaceLabelsForm(StorageForm):
    """Which things in the place, on which paper, from which label on."""

    what = forms.ChoiceField(choices=list(WHAT.items()), widget=forms.RadioSelect, label="Label", initial="pieces")
    paper = forms.ChoiceField(choices=list(PAPERS.items()), label="Paper", initial="a4-21")
    start = forms.IntegerField(
        min_value=1,
        max_value=30,
        initial=1,
        label="First free label on the sheet",
        help_text="1 is the top left; a roll begins anywhere.",
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        sheet = SHEETS.get(data.get("paper", ""))
        if sheet and data.get("start", 1) > sheet.on_one:
            self.add_error("start", f"This sheet has {sheet.on_one} labels.")
        return data


class BindForm(StorageForm):
    """What the blank was stuck on."""

    thing = ThingField(
        label="It is on", help_text="Scan or type the piece's number, or the code of the trunk or shelf."
    )
