"""The first page: what needs attention, for each duty."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from catalog.access.duties import Duty
from tests.cast import Cast
from tests.demo_world import DemoWorld

As = Callable[[Any], Client]


def texts(client: Client) -> list[str]:
    return [reason["text"] for reason in client.get("/").context["reasons"]]


def test_the_archivist_is_told_of_the_lost_trunk_and_the_swollen_pack(demo_world: DemoWorld, as_user: As) -> None:
    told = texts(as_user(demo_world.cast.archivist))
    assert told[0].startswith("LHS-0111 has a damaged battery pack")
    assert any(text.startswith("T14 is not found") for text in told)
    assert any(text.startswith("7 pieces are not found") for text in told)
    assert any("RS-2026-01" in text for text in told)


def test_production_is_told_of_the_call_and_the_pencil_but_not_of_the_store(demo_world: DemoWorld, as_user: As) -> None:
    told = texts(as_user(demo_world.cast.production))
    assert any("RS-2026-01" in text for text in told)
    assert not any("not found" in text or "battery" in text for text in told)


def test_a_visitor_gets_the_productions(demo_world: DemoWorld, as_user: As) -> None:
    page = as_user(demo_world.cast.visitor).get("/")
    assert page.context["reasons"] == []
    assert "Ninety Bridges" in page.content.decode()


@pytest.mark.parametrize("who", list(Duty))
def test_every_link_on_the_page_opens_for_whoever_sees_it(who: Duty, demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.of(who))
    page = client.get("/")
    urls = {reason["url"] for reason in page.context["reasons"]} | {entry["url"] for entry in page.context["nav"]}
    assert {url: client.get(url).status_code for url in urls} == dict.fromkeys(urls, 200)


@pytest.mark.parametrize("who", list(Duty))
def test_an_empty_archive_says_so(who: Duty, cast: Cast, as_user: As) -> None:
    page = as_user(cast.of(who)).get("/").content.decode()
    assert "Nothing needs you today" in page or "Look around the store" in page


def test_a_fixed_number_of_queries(demo_world: DemoWorld, as_user: As, django_assert_max_num_queries: Any) -> None:
    with django_assert_max_num_queries(46):
        as_user(demo_world.cast.archivist).get("/")
