"""Every address, for every duty and for a stranger: nothing is open that nobody listed."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import NoReverseMatch, URLResolver, get_resolver, reverse

from catalog.access.duties import Duty
from catalog.access.permissions import ADDRESSES, PUBLIC, SIGNED_IN, Ability
from tests.cast import Cast

# What stands in for each part of an address that names a thing; none of them exists.
STAND_IN: dict[str, Any] = {"int": 987654, "str": "NO-SUCH-9", "slug": "no-such-9", "uuid": "0" * 32}


def addresses() -> Iterator[tuple[str, dict[str, Any]]]:
    """All named addresses of the site with what converts their parts, those of the path before them included."""

    def walk(resolver: URLResolver, space: str, before: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
        for entry in resolver.url_patterns:
            parts = before | getattr(entry.pattern, "converters", {})
            if isinstance(entry, URLResolver):
                yield from walk(entry, entry.namespace or space, parts)
            else:
                yield f"{space}:{entry.name}" if space else str(entry.name), parts

    yield from walk(get_resolver(), "", {})


NAMES = sorted({name for name, _ in addresses()})


def url_of(name: str, parts: dict[str, Any]) -> str:
    kwargs = {
        key: STAND_IN.get(type(c).__name__.removesuffix("Converter").lower().replace("string", "str"), "NO-SUCH-9")
        for key, c in parts.items()
    }
    try:
        return reverse(name, kwargs=kwargs)
    except NoReverseMatch:
        return reverse(name, kwargs=dict.fromkeys(kwargs, "P000000"))


def test_every_address_is_listed_and_every_listing_leads_somewhere() -> None:
    assert set(NAMES) == set(ADDRESSES)


@pytest.mark.parametrize("who", [*Duty, None], ids=lambda d: d.value if d else "stranger")
def test_each_address_lets_in_only_who_may(who: Duty | None, cast: Cast, as_user: Callable[[Any], Client]) -> None:
    client = as_user(cast.of(who) if who else None)
    client.raise_request_exception = True
    wrong = []
    for name, pattern in addresses():
        needed = ADDRESSES[name]
        open_to = needed == PUBLIC or (
            who is not None and (needed == SIGNED_IN or (isinstance(needed, Ability) and who in needed.duties))
        )
        answer = client.get(url_of(name, pattern))
        refused = answer.status_code == 403 or (answer.status_code == 302 and "/sign-in/" in answer["Location"])
        if refused == open_to and name != "access:sign_out":
            wrong.append(f"{name} for {who}: {answer.status_code}")
    assert wrong == []


def test_a_forgotten_address_is_closed(
    cast: Cast, as_user: Callable[[Any], Client], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delitem(ADDRESSES, "desk:today")
    assert as_user(cast.archivist).get("/").status_code == 403


def test_the_address_of_a_button_says_where_the_button_is(cast: Cast, as_user: Callable[[Any], Client]) -> None:
    """Every address that only takes a post, opened by whoever may press its button: 405 in our words, with a way on."""
    met = 0
    for name, pattern in addresses():
        needed = ADDRESSES[name]
        who = next(iter(needed.duties)) if isinstance(needed, Ability) else Duty.ARCHIVIST
        client = as_user(cast.of(who))
        answer = client.get(url_of(name, pattern))
        if answer.status_code != 405 or name == "access:sign_out":
            continue
        met += 1
        assert "POST" in answer["Allow"], name
        page = answer.content.decode()
        assert "This address does something; it has no page of its own." in page, name
        back = answer.context["back"]
        if not back:
            assert name.startswith("access:"), f"{name}: name the page of its button in ELSEWHERE"
            continue
        assert f'href="{back}"' in page
        # The things of these addresses do not exist, so a page about one is not there; a page it is all the same.
        assert client.get(back).status_code in {200, 404}, f"{name} leads to {back}"
    assert met > 12


def test_a_post_to_a_page_that_is_only_read_is_told_too(cast: Cast, as_user: Callable[[Any], Client]) -> None:
    answer = as_user(cast.archivist).post("/care/treatments/")
    assert (answer.status_code, answer["Allow"]) == (405, "GET")
    assert "Nothing was changed." in answer.content.decode()
