"""Small helpers that keep constraints in the tables short and alike."""

from collections.abc import Iterable

from django.db import models
from django.db.models import Q, Value
from django.db.models.functions import Replace, Upper


def one_of(field: str, choices: type[models.TextChoices], name: str, *, blank: bool = False) -> models.CheckConstraint:
    """The database's own word on a choice field: `choices` alone binds only forms."""
    words = [*choices.values, ""] if blank else list(choices.values)
    return models.CheckConstraint(
        condition=Q(**{f"{field}__in": words}),
        name=name,
        violation_error_message=f"That is no known word for {field.replace('_', ' ')}.",
    )


def between(field: str, low: int, high: int, name: str, sentence: str) -> models.CheckConstraint:
    """An optional number that must lie between two bounds when it is known."""
    return models.CheckConstraint(
        condition=Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__range": (low, high)}),
        name=name,
        violation_error_message=sentence,
    )


def not_blank(fields: Iterable[str], name: str, sentence: str) -> models.CheckConstraint:
    """Text fields that may not be empty."""
    condition = Q()
    for field in fields:
        condition &= ~Q(**{field: ""})
    return models.CheckConstraint(condition=condition, name=name, violation_error_message=sentence)


def plain_of(field: str) -> Upper:
    """The field as `core.codes.plain` compares it, for a query."""
    return Upper(Replace(Replace(field, Value("-"), Value("")), Value(" "), Value("")))
