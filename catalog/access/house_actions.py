"""Changing a house setting: the archive's own value beside the starting value of core/house.py."""

from datetime import date
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
    if declared.long:
        value = "\n".join(" ".join(line.split()) for line in value.splitlines() if line.strip())
    if key == "house.closed_days":
        value = _as_days(value)
    row = HouseSetting.objects.select_for_update().filter(key=key).first()
    before = declared.start if row is None else row.value
    row = row or HouseSetting(key=key)
    row.value, row.words = value, declared.words
    if before == value:
        return row
    _store(row, declared)
    subject = history.Subject("house", "rules")
    told = {"setting": key, "value": value}
    history.record(by, "setting changed", subject, before={"setting": key, "value": before}, after=told)
    return row


def _store(row: HouseSetting, declared: house.Setting) -> None:
    """An emptied setting is back at its starting value, which is empty too: a row holds no empty value."""
    if row.value not in ("", []):
        keep(row)
    elif declared.start:
        raise Refused(f"{declared.label or row.key} cannot be empty.", field=row.key)
    else:
        row.delete()


def _as_days(days: list[Any]) -> list[str]:
    """Each day once, in order, as it is stored. Raises Refused for what is no day."""
    try:
        found = {(day if isinstance(day, date) else date.fromisoformat(day)).isoformat() for day in days}
    except (TypeError, ValueError) as wrong:
        raise Refused("Closed days: give each day like 25 Dec 2026.", field="house.closed_days") from wrong
    return sorted(found)
