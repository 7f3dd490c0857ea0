"""Loading a demo: an empty database is filled from a manifest of tables, once, and marked as a demo's for good.

The manifest says everything about the demo's world; this file knows how to follow one, and nothing of what is in it.
"""

import secrets
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from django.contrib.auth.models import Group
from django.db import transaction

from catalog.access.duties import Duty
from catalog.access.house_actions import put_setting
from catalog.access.models import User
from catalog.access.permissions import can
from catalog.core.errors import BadTable, Refused
from catalog.core.models import HouseSetting
from catalog.exchange.actions import ability_for, import_table
from catalog.exchange.calc.rows import Row
from catalog.exchange.calc.shift import week_shift
from catalog.exchange.people import USERNAME
from catalog.exchange.reading import read_json
from catalog.loans.models import Call
from catalog.pieces.models import Piece, Production
from catalog.shipping.pack_actions import keep_crate_kind
from catalog.storage.models import Place

MARK = "demo.loaded"
Each = Callable[[Iterable[Any], str], Iterable[Any]]


def quietly(items: Iterable[Any], words: str) -> Iterable[Any]:
    """No progress shown."""
    return items


@dataclass(frozen=True, slots=True)
class Login:
    """A name and a fresh password, told once and kept nowhere."""

    duty: Duty
    username: str
    password: str


def mark() -> HouseSetting | None:
    """The mark of a loaded demo: its value has `shift_days` and the reference of the `call`."""
    return HouseSetting.objects.filter(key=MARK).first()


def refuse_foreign_data(*, ours: Iterable[User] = ()) -> None:
    """Raise Refused when the database holds somebody's work that no demo put there; `ours` are the demo's logins."""
    if mark() is not None:
        return
    people = User.objects.exclude(username=USERNAME).exclude(pk__in=[user.pk for user in ours])
    for rows, words in (
        (Piece.objects.all(), "pieces"),
        (Production.objects.all(), "productions"),
        (Place.objects.all(), "places"),
        (Call.objects.all(), "calls"),
        (people, "logins"),
    ):
        if count := rows.count():
            raise Refused(
                f"This database holds {count} {words} that are not a demo's. Use an empty one: set WRAPKEEP_DATA to a "
                "new folder, or DATABASE_URL to a new database."
            )


def read_manifest(folder: Path) -> dict[str, Any]:
    """The manifest of a folder of demo tables. Raises BadTable with a sentence."""
    path = folder / "manifest.json"
    try:
        found = read_json(path.read_bytes(), path.name)
    except OSError as wrong:
        raise BadTable(f"{path} cannot be read: {wrong.strerror}.") from wrong
    if not isinstance(found, dict) or not {"anchor", "tables"} <= set(found):
        raise BadTable(f"{path.name} is no manifest: it needs an anchor date and tables.")
    return found


@transaction.atomic
def load_demo(*, folder: Path, people: Mapping[Duty, User], today: date, each: Each = quietly) -> int:
    """Load every table of the manifest in one transaction, dates moved by whole weeks; the shift in days.

    The anchor day of the manifest falls into the week of `today`. Raises Refused for a database with other data.
    """
    refuse_foreign_data(ours=people.values())
    manifest = read_manifest(folder)
    shift = week_shift(date.fromisoformat(manifest["anchor"]), today)
    for key, value in manifest.get("settings", {}).items():
        put_setting(by=people[Duty.ARCHIVIST], key=key, value=value)
    for crate in manifest.get("crate_kinds", []):
        keep_crate_kind(by=people[Duty.ARCHIVIST], **crate)
    for table in manifest["tables"]:
        path, mapping = folder / table["file"], table.get("mapping")
        by = next(user for user in people.values() if can(user, ability_for(table["kind"])))

        def rows(given: Iterable[Row], words: str = path.name) -> Iterable[Row]:
            return each(given, words)

        try:
            import_table(
                by=by,
                kind=table["kind"],
                data=path.read_bytes(),
                file_name=path.name,
                mapping=read_json((folder / mapping).read_bytes(), mapping) if mapping else None,
                call=table.get("call", ""),
                shift_days=shift,
                each=rows,
            )
        except BadTable as wrong:
            raise BadTable(f"{wrong.sentence} {' '.join(wrong.faults[:5])}", wrong.faults) from wrong
    value = {"shift_days": shift, "call": manifest.get("call", "")}
    HouseSetting.objects.create(key=MARK, value=value, words="This database holds a demo; dates were moved once.")
    return shift


def make_logins() -> list[Login]:
    """One login a duty with a fresh random password; an older password of it stops working."""
    logins = []
    for duty in Duty:
        username, password = duty.value.replace(" ", "-"), secrets.token_urlsafe(9)
        user, _ = User.objects.get_or_create(username=username)
        user.is_active = True
        user.set_password(password)
        user.save()
        user.groups.set(Group.objects.filter(name=duty.value))
        logins.append(Login(duty, username, password))
    return logins
