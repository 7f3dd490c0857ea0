"""Changing a house setting: the archive's own value beside the starting value of core/house.py."""

from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import history, house
from catalog.core.checks import keep
from catalog.core.errors import Refused
from catalog.core.models import HouseSetting

history.allow("house", ["setting", "value"])


@transaction.atomic
def put_setting(*, by: User, key: str, value: Any) -> HouseSetting:
    """Keep the archive's own value of a setting.

    Raises Refused for an unknown key, a value of another sort, or one out of bounds.
    """
    require(by, Ability.HOUSE_RULES)
    declared = house.SETTINGS.get(key)
    if declared is None:
        raise Refused(f"There is no setting “{key}”.", field="key")
    if type(value) is not type(declared.start):
        raise Refused(f"{declared.label or key}: “{value}” is not of the right sort.", field=key)
    if declared.low is not None and declared.high is not None and not declared.low <= value <= declared.high:
        raise Refused(f"{declared.label} lies between {declared.low} and {declared.high}.", field=key)
    row = HouseSetting.objects.select_for_update().filter(key=key).first()
    before = declared.start if row is None else row.value
    if row is not None and before == value:
        return row
    row = row or HouseSetting(key=key)
    row.value, row.words = value, declared.words
    keep(row)
    if before != value:
        subject = history.Subject("house", "rules")
        history.record(
            by,
            "setting changed",
            subject,
            before={"setting": key, "value": before},
            after={"setting": key, "value": value},
        )
    return row
