"""The quick path of a loan's report, and the two signatures under it."""

from typing import Any

from django import forms

from catalog.care.models import ReportPicture
from catalog.care.report_actions import PictureSeen
from catalog.core.form_fields import PastDayField, PictureField
from catalog.core.plain_forms import PlainForm
from catalog.pieces.models import PieceFile


class QuickForm(PlainForm):
    """Nothing changed since the last report; with a picture, if one was taken."""

    number = forms.CharField(max_length=30, widget=forms.HiddenInput, label="Piece")
    picture = PictureField(required=False, camera=True, help_text="Same view, light and stand as the one before.")
    view = forms.ChoiceField(choices=PieceFile.View.choices, required=False, label="It shows")
    label = forms.ChoiceField(
        choices=ReportPicture.Label.choices,
        widget=forms.RadioSelect,
        required=False,
        label="How you know it is this piece",
    )

    def clean(self) -> dict[str, Any]:
        """A picture without its label seen is questioned."""
        data = super().clean() or {}
        if data.get("picture") and not data.get("label"):
            self.add_error(
                "label", f"Is this {data.get('number', 'it')}? Choose how you know it, and choose the picture again."
            )
        return data

    def pictures(self) -> list[PictureSeen]:
        """The picture, if one was taken."""
        data = self.cleaned_data
        view = data["view"] or PieceFile.View.FRONT
        return [PictureSeen(data["picture"], data["label"], view)] if data["picture"] else []


class SignForm(PlainForm):
    """Who signs for the borrower; the house signs by who is signed in."""

    borrower_name = forms.CharField(
        max_length=120, label="Signs for the borrower", help_text="Who has custody; never a performer."
    )
    borrower_for = forms.CharField(max_length=160, label="For whom")
    signed_on = PastDayField(label="Day")
    read = forms.BooleanField(
        label="Both have read the report, and know that nothing in it changes from now on",
        error_messages={"required": "Tick that both have read the report."},
    )
