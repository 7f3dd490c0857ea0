"""The five duties. A person may have several; each is a group of the same name."""

from enum import StrEnum
from typing import Any

from django.apps import apps
from django.contrib.auth.models import AbstractBaseUser, AnonymousUser


class Duty(StrEnum):
    """What a person does here."""

    ARCHIVIST = "archivist"
    WARDROBE_LEAD = "wardrobe lead"
    PRODUCTION = "production"
    SET_COSTUMER = "set costumer"
    VISITOR = "visitor"


EVERY_DUTY = frozenset(Duty)
STAFF = EVERY_DUTY - {Duty.VISITOR}


def duties_of(user: AbstractBaseUser | AnonymousUser) -> frozenset[Duty]:
    """The duties of a person; a stranger has none. Read once a request and kept on the user object."""
    if not user.is_authenticated:
        return frozenset()
    kept: frozenset[Duty] | None = getattr(user, "_duties", None)
    if kept is None:
        names = set(user.groups.values_list("name", flat=True))  # type: ignore[attr-defined]
        kept = frozenset(duty for duty in Duty if duty.value in names)
        user._duties = kept  # type: ignore[attr-defined]
    return kept


def ensure_groups_after_migrate(sender: Any, using: str, **rest: Any) -> None:
    """Receiver of post_migrate: the five groups stand in every database."""
    for duty in Duty:
        apps.get_model("auth", "Group").objects.using(using).get_or_create(name=duty.value)
