"""What is typed into a condition report: the facts, the marks that were there, the marks found now."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms

from catalog.care.calc.marks import wrong_side
from catalog.care.models import ConditionMark, ConditionReport, ReportPicture
from catalog.care.report_actions import MarkSeen, PictureSeen, same_again
from catalog.core.form_fields import LengthField, PastDayField, PictureField
from catalog.core.models import File
from catalog.core.plain_forms import PlainForm, PlainFormSet
from catalog.core.units import LengthUnit
from catalog.pieces.models import Look, Piece, PieceFile

UNSAID = ("", "nobody has said")
ORIGINS = [("", "not known"), ("yes", "original to the film: keep it"), ("no", "later damage")]


class ReportForm(PlainForm):
    """A condition report: what may be done with the piece, not how it looks."""

    grade = forms.TypedChoiceField(choices=ConditionReport.Grade.choices, coerce=int, widget=forms.RadioSelect)
    work = forms.CharField(
        max_length=160, required=False, label="Small work it needs", help_text="For grade 3: what, and how long."
    )
    stability = forms.ChoiceField(
        choices=ConditionReport.Stability.choices,
        widget=forms.RadioSelect,
        help_text="What happens if it is left alone or moved.",
    )
    completeness = forms.ChoiceField(choices=ConditionReport.Completeness.choices, widget=forms.RadioSelect)
    missing = forms.CharField(max_length=160, required=False, label="What is missing")
    look = forms.ModelChoiceField(
        Look.objects.none(), required=False, empty_label="not known", label="Look it is in now"
    )
    method = forms.CharField(
        max_length=100, required=False, label="How you looked", help_text="For example: by eye, on a table, gloves."
    )
    occasion = forms.CharField(max_length=60, required=False, help_text="For example: entry, before a loan.")
    note = forms.CharField(widget=forms.Textarea(attrs={"rows": 3}), required=False)
    picture = PictureField(
        required=False, camera=True, label="A new picture", help_text="Same view, light and stand as the one before."
    )
    view = forms.ChoiceField(choices=PieceFile.View.choices, required=False, label="It shows")
    label = forms.ChoiceField(
        choices=ReportPicture.Label.choices,
        widget=forms.RadioSelect,
        required=False,
        label="How you know it is this piece",
    )
    kept = forms.CharField(max_length=64, required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, piece: Piece, **options: Any) -> None:
        super().__init__(*args, **options)
        self.piece = piece
        fields: dict[str, Any] = self.fields
        fields["look"].queryset = piece.production.looks.all()

    def clean(self) -> dict[str, Any]:
        """The form says beside the field what a report of this grade still needs."""
        data = super().clean() or {}
        if data.get("grade") == ConditionReport.Grade.SMALL_WORK and not data.get("work"):
            self.add_error("work", "Say which small work it needs and how long that takes.")
        if data.get("completeness") not in {None, "complete"} and not data.get("missing"):
            self.add_error("missing", "Say what is missing.")
        if (data.get("picture") or data.get("kept")) and not data.get("label"):
            number = self.piece.number
            self.add_error("label", f"Is this {number}? Choose how you know it, or take the picture with its label.")
        return data

    def facts(self) -> dict[str, Any]:
        """What the action asks for, without the picture."""
        return {k: v for k, v in self.cleaned_data.items() if k not in {"picture", "view", "label", "kept"}}

    def picture_seen(self, data: bytes | None) -> list[PictureSeen]:
        """The new picture, if there is one."""
        view = self.cleaned_data["view"] or PieceFile.View.FRONT
        return [PictureSeen(data, self.cleaned_data["label"], view)] if data else []


class HappenedForm(PlainForm):
    """What brought a mark; asked only of what came home."""

    cause = forms.ChoiceField(choices=[UNSAID, *ConditionMark.Cause.choices], required=False, label="What brought it")
    happened_on = PastDayField(label="Day of it", required=False)
    happened_with = forms.ChoiceField(
        choices=[UNSAID, *ConditionMark.With.choices], required=False, label="In the hands of"
    )

    def __init__(self, *args: Any, home: bool = False, **options: Any) -> None:
        super().__init__(*args, **options)
        self.home = home
        if not home:
            for name in ("cause", "happened_on", "happened_with"):
                del self.fields[name]

    def clean(self) -> dict[str, Any]:
        """An accident happened in somebody's hands, even when nobody knows whose."""
        data = super().clean() or {}
        if data.get("cause") == ConditionMark.Cause.ACCIDENT and not data.get("happened_with"):
            self.add_error("happened_with", "Say in whose hands the accident happened; “not known” is an answer.")
        return data

    def happened(self) -> dict[str, Any]:
        """What brought it, as the action asks for it."""
        data = self.cleaned_data
        facts = {name: data.get(name) for name in ("cause", "happened_on", "happened_with")}
        return facts if self.home else {}


class MarkForm(HappenedForm):
    """One mark found now: where, what, how large, and where its pin stands."""

    where = forms.ChoiceField(required=False, label="Pin on")
    across = forms.DecimalField(max_digits=5, decimal_places=1, required=False, label="Across, %")
    down = forms.DecimalField(max_digits=5, decimal_places=1, required=False, label="Down, %")
    zone = forms.CharField(max_length=60, required=False, help_text="Left and right are the wearer's.")
    word = forms.CharField(max_length=60, required=False, label="What it is")
    size_mm = LengthField(required=False, label="Size")
    origin = forms.ChoiceField(choices=ORIGINS, required=False, label="Since when")

    field_order = ("zone", "word", "size_mm", "origin", "cause", "happened_on", "happened_with", "where", "across")

    def __init__(
        self,
        *args: Any,
        unit: LengthUnit = "cm",
        places: Sequence[tuple[str, str]] = (),
        piece_kind: str = "",
        **options: Any,
    ) -> None:
        super().__init__(*args, **options)
        self.piece_kind = piece_kind
        fields: dict[str, Any] = self.fields
        fields["zone"].widget.attrs["list"] = "zones"
        fields["word"].widget.attrs["list"] = "damage-words"
        fields["size_mm"].unit = unit
        fields["size_mm"].help_text = f"In {unit}."
        fields["where"].choices = [("", "nothing: in words only"), *places]
        for name in ("across", "down"):
            fields[name].widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})

    def clean(self) -> dict[str, Any]:
        """A mark has both a place and a word, or is left empty; its pin stands inside its picture."""
        data = super().clean() or {}
        if not self._is_filled(data):
            return data
        if not data.get("zone"):
            self.add_error("zone", "Say where the mark is.")
        if not data.get("word"):
            self.add_error("word", "Say what it is, for example tear or stain.")
        if self.home and not data.get("cause"):
            self.add_error("cause", "Say of each new mark whether it is wear, handling or an accident.")
        self._check_pin(data)
        return data

    def _check_pin(self, data: dict[str, Any]) -> None:
        pin = [data.get("across"), data.get("down")]
        if any(one is not None and not 0 <= one <= 100 for one in pin):
            self.add_error("across", "The mark lies outside its picture: both numbers go from 0 to 100.")
        elif any(one is None for one in pin) and any(one is not None for one in pin):
            self.add_error("across", "A pin needs both numbers: across and down.")
        elif pin[0] is not None and not data.get("where"):
            self.add_error("where", "Say on which picture or outline the pin stands.")
        elif pin[0] is not None and (
            wrong := wrong_side(self.piece_kind, data["where"], int(pin[0] * 10), data.get("zone", ""))
        ):
            self.add_error("zone", wrong)

    @staticmethod
    def _is_filled(data: dict[str, Any]) -> bool:
        return any(data.get(name) not in {None, ""} for name in ("zone", "word", "size_mm", "across", "down"))

    def seen(self, files: dict[str, File]) -> MarkSeen | None:
        """The mark, or None when the row was left empty; `files` has the picture of each place."""
        data = self.cleaned_data
        if not self._is_filled(data):
            return None
        pinned = data["across"] is not None
        outline = data["where"] if pinned and data["where"] in ConditionMark.Outline.values else ""
        return MarkSeen(
            zone=data["zone"],
            word=data["word"],
            size_mm=data["size_mm"],
            on_screen={"yes": True, "no": False}.get(data["origin"]),
            file=files.get(data["where"]) if pinned else None,
            outline=outline,
            x_permille=permille(data["across"]),
            y_permille=permille(data["down"]),
            state=ConditionMark.State.NEW if self.home else ConditionMark.State.NOTED,
            **self.happened(),
        )


class OldMarkForm(HappenedForm):
    """What became of a mark of the report before."""

    answers = forms.IntegerField(widget=forms.HiddenInput)
    state = forms.ChoiceField(
        choices=[(s.value, s.label) for s in (ConditionMark.State.SAME, ConditionMark.State.WORSE)]
        + [(ConditionMark.State.GONE.value, "gone")],
        widget=forms.RadioSelect,
        label="Now it is",
        error_messages={"required": "Say whether the old mark is same, worse or gone."},
    )
    note = forms.CharField(max_length=160, required=False, help_text="For example: mended, or 4 cm longer.")

    field_order = ("answers", "state", "note")

    def seen(self, mark: ConditionMark) -> MarkSeen:
        """The old mark with its answer."""
        data = self.cleaned_data
        worse = self.happened() if data["state"] == ConditionMark.State.WORSE else {}
        return same_again(mark, data["state"], note=data["note"], **worse)


def permille(percent: Decimal | None) -> int | None:
    """What is typed in per cent with one decimal is kept as a whole number."""
    return None if percent is None else int(percent * 10)


MarkFormSet = forms.formset_factory(MarkForm, formset=PlainFormSet, extra=0, max_num=40, validate_max=True)
OldMarkFormSet = forms.formset_factory(OldMarkForm, formset=PlainFormSet, extra=0, max_num=200, validate_max=True)
