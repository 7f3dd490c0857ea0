"""The base of every form: what the framework would say in its own words is said in ours, with the field's name.

Our own sentences are plain text and stay as they are. The framework's wait to be translated (a Promise): that is how
the two are told apart, in one place, so that no form has to list messages.
"""

import re
from collections.abc import Callable, Mapping
from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.utils.functional import Promise

_LETTER = re.compile(r"^[A-Z]  ")  # of a point in the drawing


def named(text: str, label: str) -> str:
    """The sentence with its field's name before it, unless it names the field itself."""
    name = " ".join(_LETTER.sub("", label).split())
    said, sought = text.casefold(), re.escape(name.casefold())
    if not name or re.match(rf"{sought}(?!\w)", said) or (len(name) > 4 and re.search(rf"(?<!\w){sought}(?!\w)", said)):
        return text
    return f"{name}: {text}"


class PlainSentences:
    """For a form of any kind: the framework's sentences become ours before anybody reads them."""

    fields: dict[str, forms.Field]

    def add_error(self, field: str | None, error: Any) -> None:
        """As the framework does it, with our sentences."""
        super().add_error(field, self._plain(field, error))  # type: ignore[misc]

    def _plain(self, name: str | None, error: Any) -> Any:
        if not isinstance(error, ValidationError):
            return error
        if hasattr(error, "error_dict"):
            return ValidationError({key: self._plain(key, one) for key, one in error.error_dict.items()})
        return [self._one(name, one) for one in error.error_list]

    def _one(self, name: str | None, error: ValidationError) -> ValidationError:
        field = self.fields.get(name or "")
        if field is None or name == NON_FIELD_ERRORS or not isinstance(error.message, Promise):
            return error
        label = " ".join(_LETTER.sub("", str(self[name].label)).split())  # type: ignore[index]
        return ValidationError(f"{label}: {what_to_do(field, error.code or '', error.params or {})}", code=error.code)


class PlainForm(PlainSentences, forms.Form):
    """A form of ours."""


class PlainFormSet(forms.BaseFormSet):  # type: ignore[type-arg]
    """Rows of one form; a page that lost its count of rows is told so in our words."""

    default_error_messages = {
        "missing_management_form": "This page was not sent whole. Load it again and fill it in once more.",
        "too_many_forms": "There are too many rows: at most %d.",
        "too_few_forms": "There are too few rows: at least %d.",
    }


# What a field of a kind cannot read; a decimal number is a whole one too, so the order counts.
_UNREADABLE: tuple[tuple[Any, str], ...] = (
    (forms.DateField, "that is no day. Give it like 8 Sep 2026 or 2026-09-08."),
    (forms.TimeField, "that is no time of day. Give it like 9:30."),
    ((forms.DecimalField, forms.FloatField), "that is no number. Give it like 12.5."),
    (forms.IntegerField, "that is no whole number. Give it like 6."),
    ((forms.ChoiceField, forms.ModelChoiceField), "that is none of the answers. Choose from the list."),
)


def what_to_do(field: forms.Field, code: str, params: Mapping[str, Any]) -> str:
    """What is wrong and what helps, without the field's name. A code nobody foresaw still says what to do."""
    if code == "required":
        return _missing(field)
    if code in {"min_value", "max_value"}:
        return _bounds(field, params)
    said = _SAID.get(code)
    return said(params) if said else _unreadable(field)


def _missing(field: forms.Field) -> str:
    if isinstance(field, (forms.MultipleChoiceField, forms.ModelMultipleChoiceField)):
        return "tick at least one."
    if isinstance(field, (forms.ChoiceField, forms.ModelChoiceField)):
        return "nothing was chosen. Choose one."
    if isinstance(field, forms.FileField):
        return "no file was chosen. Choose one."
    if isinstance(field, forms.BooleanField):
        return "tick it to go on."
    return "no day was given. Give one." if isinstance(field, forms.DateField) else "this is empty. Fill it in."


def _unreadable(field: forms.Field) -> str:
    found = (words for kinds, words in _UNREADABLE if isinstance(field, kinds))
    return next(found, "that cannot be read. Look at it again.")


def _bounds(field: forms.Field, params: Mapping[str, Any]) -> str:
    low, high = getattr(field, "min_value", None), getattr(field, "max_value", None)
    if low is not None and high is not None:
        return f"give a number from {low} to {high}."
    return f"give at least {low}." if high is None else f"give at most {high}."


def _at_most(what: str) -> Callable[[Mapping[str, Any]], str]:
    return lambda params: f"at most {params.get('max', 'so many')} {what}."


_SAID: dict[str, Callable[[Mapping[str, Any]], str]] = {
    "max_length": lambda params: (
        f"at most {params.get('limit_value', params.get('max'))} characters, "
        f"and there are {params.get('show_value', params.get('length'))}. Shorten it."
    ),
    "min_length": lambda params: f"at least {params.get('limit_value')} characters.",
    "max_digits": _at_most("digits"),
    "max_decimal_places": _at_most("digits after the point"),
    "max_whole_digits": _at_most("digits before the point"),
    "invalid_choice": lambda params: "that is none of the answers. Choose from the list.",
    "invalid_list": lambda params: "that is none of the answers. Choose from the list.",
    "invalid_pk_value": lambda params: "that is none of the answers. Choose from the list.",
    "null_characters_not_allowed": lambda params: "there is a sign in it that cannot be kept. Type it again.",
    "missing": lambda params: "no file arrived. Choose it again.",
    "empty": lambda params: "the file is empty. Choose another.",
    "contradiction": lambda params: "choose a file or tick the box, not both.",
}
