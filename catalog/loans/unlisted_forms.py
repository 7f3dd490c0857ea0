"""What is typed about a thing that came home and is not ours."""

from django import forms

from catalog.core.form_fields import PastDayField
from catalog.core.plain_forms import PlainForm
from catalog.loans.forms import words
from catalog.pieces.forms import PictureField


class NotOursForm(PlainForm):
    """The thing as it lies there. What is not known stays empty."""

    description = words("What it is", "Describe what came.", "For example: black umbrella, wooden handle.")
    owner_name = forms.CharField(label="Whose it is", max_length=120, required=False, help_text="Empty: not known.")
    goes_back_to = forms.CharField(label="Goes back to", max_length=160, required=False)
    picture = PictureField(label="Picture", required=False)


class HandOverForm(PlainForm):
    """To whom, and when."""

    handed_over_to = words("Handed to", "Say to whom it was handed over.", limit=120)
    handed_over_on = PastDayField(label="On")
