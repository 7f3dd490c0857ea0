"""The form about a part of an animal or plant."""

from django import forms

from catalog.care.wild_models import WildPart
from catalog.core.form_fields import PastDayField
from catalog.core.plain_forms import PlainForm

_FARMED = [("", "not known"), ("yes", "bred on a farm"), ("no", "taken from the wild")]


class WildPartForm(PlainForm):
    """What is known of it; every gap stays a question for the travel check."""

    what = forms.CharField(max_length=120, required=False, label="What it is", help_text="Ostrich plume, ivory button.")
    group = forms.ChoiceField(choices=[("", "not known"), *WildPart.Group.choices], required=False)
    listing = forms.ChoiceField(
        choices=[("", "not known"), *WildPart.Listing.choices],
        required=False,
        label="On which list",
        help_text="Appendix of the convention on trade in endangered species, as the permit office says today.",
    )
    named_by = forms.CharField(
        max_length=120, required=False, label="Who says so", help_text="A specialist, a permit office, or which paper."
    )
    obtained_year = forms.IntegerField(
        min_value=1000, max_value=2200, required=False, label="Owned since", help_text="The earliest year with a proof."
    )
    share_percent = forms.IntegerField(
        min_value=0, max_value=100, required=False, label="Share of the piece in %", help_text="By volume; for ivory."
    )
    wood_g = forms.IntegerField(
        min_value=0, max_value=1_000_000, required=False, label="Listed wood in g", help_text="For rosewood."
    )
    farmed = forms.TypedChoiceField(
        choices=_FARMED, required=False, coerce=lambda word: word == "yes", empty_value=None, label="Farmed or wild"
    )
    gone_on = PastDayField(label="Taken off for good on", required=False)
