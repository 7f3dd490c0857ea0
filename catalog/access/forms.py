"""Signing in and the reader's units."""

from django import forms
from django.contrib.auth.forms import AuthenticationForm

from catalog.access.models import User


class SignInForm(AuthenticationForm):
    """Name and password; paste and password managers work."""

    error_messages = {
        "invalid_login": "That name and password do not go together. Check both; capitals count.",
        "inactive": "This login has been closed.",
    }


class UnitsForm(forms.Form):
    """How this reader likes lengths and weights."""

    units = forms.ChoiceField(choices=User.Units.choices, label="Show lengths and weights in")
