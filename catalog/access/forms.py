"""Signing in and the reader's units."""

from django import forms
from django.contrib.auth.forms import AuthenticationForm

from catalog.access.models import User
from catalog.core.plain_forms import PlainForm, PlainSentences


class SignInForm(PlainSentences, AuthenticationForm):
    """Name and password; paste and password managers work."""

    error_messages = {
        "invalid_login": "That name and password do not go together. Check both; capitals count.",
        "inactive": "This login has been closed.",
    }


class UnitsForm(PlainForm):
    """How this reader likes lengths and weights."""

    units = forms.ChoiceField(choices=User.Units.choices, label="Show lengths and weights in")
