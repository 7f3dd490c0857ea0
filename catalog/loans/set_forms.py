"""What is typed at the set."""

from django import forms

from catalog.core.plain_forms import PlainForm


class CloseDayForm(PlainForm):
    """Who takes note of what is still out, and what is known of it."""

    noted_by = forms.CharField(label="Who takes note", max_length=80, required=False)
    note = forms.CharField(
        label="What is known",
        max_length=200,
        required=False,
        help_text="Where it was last and who looks for it. It stays: write a performer's number, not the name.",
    )
