"""What is typed about samples of a look and the breakdown to it."""

from django import forms

from catalog.care.models import LookSample
from catalog.core.form_fields import PastDayField
from catalog.core.plain_forms import PlainForm


class SampleForm(PlainForm):
    """A try at the breakdown of a look."""

    what = forms.CharField(
        max_length=300, label="On what and how", help_text="For example: salt solution brushed on an offcut of canvas."
    )
    made_on = PastDayField(label="Made on")
    made_by_name = forms.CharField(max_length=120, label="Made by")


class SampleDecisionForm(PlainForm):
    """Whether a sample is approved."""

    result = forms.ChoiceField(
        choices=[(one.value, one.label) for one in (LookSample.Result.APPROVED, LookSample.Result.REFUSED)],
        widget=forms.RadioSelect,
        label="It is",
    )
    why = forms.CharField(max_length=200, required=False, help_text="Needed to refuse it, for example: too white.")
    decided_on = PastDayField(label="Decided on")
    decided_by_name = forms.CharField(max_length=120, label="Decided by", help_text="By name.")


class OrderForm(PlainForm):
    """The breakdown of one piece."""

    number = forms.CharField(max_length=30)
    days = forms.IntegerField(min_value=1, max_value=60, label="Working days")
