"""House rules: read, changed with a history line, refused out of bounds."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.test import Client

from catalog.access.house_actions import put_setting
from catalog.core import history, house
from catalog.core.errors import NotAllowed, Refused
from tests.cast import Cast

As = Callable[[Any], Client]


def values(**changed: Any) -> dict[str, Any]:
    return {key: house.value(key) for key, s in house.SETTINGS.items() if isinstance(s.start, (str, int))} | changed


def test_a_change_is_kept_and_told(cast: Cast, as_user: As) -> None:
    answer = as_user(cast.archivist).post(
        "/house/", values(**{"hold.days_after": 21, "house.found_phone": "+44 1632 960123"})
    )
    assert answer.status_code == 302
    assert house.value("hold.days_after") == 21
    told = history.lines_of(history.Subject("house", "rules"))
    assert [line.after["setting"] for line in told] == ["hold.days_after", "house.found_phone"]
    assert told[0].before["value"] == 14


def test_out_of_bounds_is_told_at_the_field_and_keeps_what_was_typed(cast: Cast, as_user: As) -> None:
    answer = as_user(cast.archivist).post("/house/", values(**{"hold.days_after": 9000}))
    assert answer.status_code == 422
    assert "180" in answer.content.decode()
    assert 'value="9000"' in answer.content.decode()
    assert house.value("hold.days_after") == 14


@pytest.mark.parametrize(
    ("key", "value"), [("hold.days_after", -1), ("hold.days_after", "many"), ("house.name", 5), ("nothing", 1)]
)
def test_the_action_refuses_too(cast: Cast, key: str, value: Any) -> None:
    with pytest.raises(Refused):
        put_setting(by=cast.archivist, key=key, value=value)


def test_only_the_archivist_may(cast: Cast, as_user: As) -> None:
    for user in (cast.wardrobe_lead, cast.production, cast.set_costumer, cast.visitor):
        assert as_user(user).get("/house/").status_code == 403
        with pytest.raises(NotAllowed):
            put_setting(by=user, key="hold.days_after", value=10)
    assert "/sign-in/" in as_user(None).get("/house/")["Location"]


def test_closed_days_are_entered_in_runs_kept_and_told(cast: Cast, as_user: As) -> None:
    typed = "24 Dec 2026 to 27 Dec 2026\n2027-01-01, 26 Dec 2026"
    client = as_user(cast.archivist)
    assert client.post("/house/", values(**{"house.closed_days": typed})).status_code == 302
    assert sorted(house.closed_days()) == [*(date(2026, 12, day) for day in (24, 25, 26, 27)), date(2027, 1, 1)]
    page = client.get("/house/").content.decode()
    assert "24 Dec 2026 to 27 Dec 2026\n1 Jan 2027</textarea>" in page
    assert "Closed days: added 24 Dec 2026 to 27 Dec 2026, 1 Jan 2027." in page
    client.post("/house/", values(**{"house.closed_days": "1 Jan 2027"}))
    assert "Closed days: taken off 24 Dec 2026 to 27 Dec 2026." in client.get("/house/").content.decode()
    assert client.post("/house/", values(**{"house.closed_days": "1 Jan 2027"})).status_code == 302
    assert history.lines_of(history.Subject("house", "rules")).count() == 2


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("christmas", "“christmas” is no day. Give it like 25 Dec 2026"),
        ("2 Jan 2027 to 1 Jan 2027", "does not run from a day to a later one"),
        ("1 Jan 2027 to 1 Jan 2037", "does not run from a day to a later one"),
    ],
)
def test_what_is_no_closed_day_is_told(cast: Cast, as_user: As, typed: str, sentence: str) -> None:
    answer = as_user(cast.archivist).post("/house/", values(**{"house.closed_days": typed}))
    assert sentence in answer.content.decode()
    assert typed in answer.content.decode()
    assert house.closed_days() == frozenset()


@pytest.mark.parametrize("days", [["soon"], [5], "2026-12-25"])
def test_the_action_keeps_only_days(cast: Cast, days: Any) -> None:
    with pytest.raises(Refused):
        put_setting(by=cast.archivist, key="house.closed_days", value=days)
