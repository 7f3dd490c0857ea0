"""From Django's validation to sentences: every action keeps its rows through `keep`.

The forms ask first and kindly, the action asks again for whoever calls it without a form, and the database has the
last word; here the last two become the same `WrongValues` with the same sentences.
"""

from collections.abc import Collection
from datetime import date, datetime
from typing import Any, TypeVar

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, FieldDoesNotExist, ValidationError
from django.db import IntegrityError, models, transaction
from django.utils import timezone
from django.utils.functional import Promise

from catalog.core import clock
from catalog.core.days import wrong_past_day
from catalog.core.errors import CatalogError, Refused, WrongValues
from catalog.core.plain_forms import named

Row = TypeVar("Row", bound=models.Model)

# A unit in a field's name is for the program; people read the number with its unit.
_UNITS = {"mm", "g", "wh", "px"}


def checked(row: Row) -> Row:
    """The row, if all its fields and constraints hold. Raises WrongValues with a sentence for each fault.

    A foreign row that is at hand is not asked for again: the database refuses one that does not exist.
    """
    at_hand = _at_hand(row)
    faults: dict[str, list[str]] = {}
    wrong: set[str] = set(at_hand)
    try:
        row.clean_fields(exclude=at_hand)
    except ValidationError as error:
        _collect(row, error, faults)
        wrong |= set(error.message_dict)
    for check in (
        row.clean,
        lambda: row.validate_unique(exclude=wrong - at_hand),
        lambda: row.validate_constraints(exclude=wrong - at_hand),
    ):
        try:
            check()
        except ValidationError as error:
            _collect(row, error, faults)
    if faults:
        raise WrongValues(faults)
    return row


def keep(row: Row, **how: Any) -> Row:
    """Save the row if it may be stored. Raises WrongValues with a sentence for each fault, Refused for a lost race.

    The fields are checked first. The constraints are the database's own word, so it is asked by saving; only when it
    refuses are they gone through one by one for their sentences: asking it about each of them first, a query a
    constraint, took half the time of loading a table.
    """
    if _wrong_fields(row, how.get("update_fields")):
        checked(row)
    try:
        with transaction.atomic():
            row.save(**how)
    except IntegrityError as clash:
        checked(row)
        raise Refused("Something that was stored at this very moment stands in the way. Try again.") from clash
    return row


def refuse_unless_past(**days: date | datetime | None) -> None:
    """Each is the day of something that has happened, under its field's name; None is a day nobody knows.

    Raises Refused for the first that is still to come or impossibly long ago: `refuse_unless_past(seen_on=day)`.
    """
    for field, when in days.items():
        if when is None:
            continue
        day = timezone.localdate(when) if isinstance(when, datetime) else when
        if wrong := wrong_past_day(day, clock.today(), field.replace("_", " ").capitalize()):
            raise Refused(wrong, field=field)


def _wrong_fields(row: models.Model, written: Collection[str] | None) -> bool:
    """Only what is going to be written is looked at."""
    kept = set() if written is None else {field.name for field in row._meta.fields} - set(written)
    try:
        row.clean_fields(exclude=_at_hand(row) | kept)
        row.clean()
    except ValidationError:
        return True
    return False


def _at_hand(row: models.Model) -> set[str]:
    """Fields whose foreign row is at hand: it need not be asked for again."""
    return {
        field.name
        for field in row._meta.fields
        if isinstance(field, models.ForeignKey) and field.is_cached(row) and getattr(row, field.attname) is not None
    }


def blame(form: forms.BaseForm, error: CatalogError) -> None:
    """Show an action's sentences in the form that asked for it, each at its field where the form has it."""
    faults = error.faults if isinstance(error, WrongValues) else {error.field or "": (error.sentence,)}
    for field, sentences in faults.items():
        for sentence in sentences:
            form.add_error(field if field in form.fields else None, sentence)


def _collect(row: models.Model, error: ValidationError, faults: dict[str, list[str]]) -> None:
    by_field = error.error_dict if hasattr(error, "error_dict") else {NON_FIELD_ERRORS: error.error_list}
    for name, errors in by_field.items():
        field = "" if name == NON_FIELD_ERRORS else name
        for one in errors:
            sentence = _sentence(row, field, one)
            if sentence not in faults.setdefault(field, []):
                faults[field].append(sentence)


def _sentence(row: models.Model, field: str, error: ValidationError) -> str:
    """What to tell a person: Django's words for the commonest faults name neither the field nor what to do."""
    said = " ".join(error.messages)
    if not field:
        return said
    word = _word(row, field)
    params = error.params or {}
    if error.code in {"blank", "null"}:
        return f"{word} is missing."
    limit = params.get("limit_value")
    bounds = {"max_length": f"is too long: at most {limit} characters", "min_value": f"must be at least {limit}"}
    bounds["max_value"] = f"must be at most {limit}"
    if error.code in bounds:
        return f"{word} {bounds[error.code]}."
    if error.code == "invalid_choice":
        return f"“{params.get('value')}” is no known word for {word.lower()}."
    if not isinstance(error.message, Promise):
        return named(said, word)
    return f"{word} is taken already: choose another." if error.code == "unique" else f"{word}: that cannot be read."


def _word(row: models.Model, field: str) -> str:
    try:
        words = str(getattr(row._meta.get_field(field), "verbose_name", field)).split()
    except FieldDoesNotExist:
        words = field.split("_")
    kept = words[:-1] if len(words) > 1 and words[-1] in _UNITS else words
    return " ".join(kept).capitalize()
