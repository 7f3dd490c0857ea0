"""What is typed about a cost."""

from django import forms

from catalog.core.plain_forms import PlainForm
from catalog.loans.forms import words
from catalog.loans.models import LoanCost


class CostForm(PlainForm):
    """One cost as its bill says."""

    what = words("What", "Say what it is for.", "For example: carrier to the quay and back.")
    amount = forms.DecimalField(max_digits=12, decimal_places=2, min_value=0, localize=False)
    currency = forms.CharField(max_length=3, min_length=3, help_text="Three letters.")
    paid_by = forms.ChoiceField(choices=LoanCost.PaidBy.choices, label="Paid by")


class StrikeForm(PlainForm):
    """Why an entry no longer counts."""

    reason = words("Why it is struck out", "Say why it is struck out.")
