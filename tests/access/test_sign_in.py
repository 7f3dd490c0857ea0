"""Signing in, being throttled, and choosing units."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.test.utils import override_settings

from tests.cast import PASSWORD, Cast


def test_it_lands_on_today(cast: Cast) -> None:
    client = Client()
    answer = client.post("/sign-in/", {"username": "archivist", "password": PASSWORD})
    assert (answer.status_code, answer["Location"]) == (302, "/")


def test_a_wrong_password_keeps_the_name_and_says_so(cast: Cast) -> None:
    answer = Client().post("/sign-in/", {"username": "archivist", "password": "no"})
    assert answer.status_code == 200
    assert "do not go together" in answer.content.decode()
    assert 'value="archivist"' in answer.content.decode()


def test_it_comes_back_to_the_page_that_was_asked_for(cast: Cast) -> None:
    client = Client()
    asked = client.get("/find/?text=coat")
    answer = client.post(asked["Location"], {"username": "archivist", "password": PASSWORD})
    assert answer["Location"] == "/find/?text=coat"


@override_settings(AXES_ENABLED=True)
def test_the_sixth_wrong_try_is_locked_out_and_so_is_the_right_one(cast: Cast) -> None:
    client = Client()
    for _ in range(5):
        client.post("/sign-in/", {"username": "archivist", "password": "no"})
    answer = client.post("/sign-in/", {"username": "archivist", "password": PASSWORD})
    assert answer.status_code == 429
    assert "_auth_user_id" not in client.session


def test_units_are_kept_and_nonsense_is_told(cast: Cast, as_user: Callable[[Any], Client]) -> None:
    client = as_user(cast.archivist)
    assert client.post("/units/", {"units": "inches", "next": "/find/"})["Location"] == "/find/"
    cast.archivist.refresh_from_db()
    assert cast.archivist.units == "inches"
    client.post("/units/", {"units": "cubits"})
    cast.archivist.refresh_from_db()
    assert cast.archivist.units == "inches"


@pytest.mark.parametrize("where", ["https://elsewhere.example/", "//elsewhere.example/", "9 cm", "", "desk:today"])
def test_units_never_send_to_another_site(where: str, cast: Cast, as_user: Callable[[Any], Client]) -> None:
    assert as_user(cast.archivist).post("/units/", {"units": "metric", "next": where})["Location"] == "/"
