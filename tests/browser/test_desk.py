"""The desk's own pages and search: no barrier and nothing beside the screen, at both widths and in both schemes."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.demo_world import DemoWorld

pytestmark = pytest.mark.django_db(transaction=True)
PAGES = (
    "/",
    "/find/?kind=helmet",
    "/find/?place=ZZ",
    "/pieces/LHS-0114/",
    "/pieces/LHS-0111/",
    "/calls/RS-2026-01/",
    "/calls/RS-2026-01/travel/",
    "/calls/RS-2026-01/heat/",
    "/calls/RS-2026-01/heat/weather/",
    "/calls/RS-2026-01/heat/dress/",
    "/calls/RS-2026-01/heat/objects/",
    "/travel/rules/",
    "/house/",
)


@pytest.mark.parametrize(("size", "scheme"), [("desk", "dark")])  # the crawl of test_axe.py has the light phone
def test_no_barrier_and_one_act_a_page(
    size: str,
    scheme: str,
    demo_world: DemoWorld,
    open_page: Callable[[str], Any],
    enter: Callable[[Any, Any], None],
    faults: Callable[[Any], list[str]],
) -> None:
    window = open_page(size)
    window.emulate_media(color_scheme=scheme)
    enter(window, demo_world.cast.archivist)
    seen: list[str] = []
    for address in PAGES:
        assert window.goto(address).status == 200, address
        seen += faults(window)
        sideways = window.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        acts, titles = window.locator(".next").count(), window.locator("h1").count()
        if sideways > 0 or acts > 1 or titles != 1:
            seen.append(f"{address}: {sideways} px beside the screen, {acts} next steps, {titles} titles")
    assert seen == []


def test_a_search_answers_first_and_stands_in_the_address(
    demo_world: DemoWorld, open_page: Callable[[str], Any], enter: Callable[[Any, Any], None]
) -> None:
    window = open_page("desk")
    enter(window, demo_world.cast.visitor)
    window.goto("/find/")
    window.get_by_label("Words").fill("oilskin coat")
    window.get_by_label("Words").press("Enter")
    window.get_by_role("heading", name="6 pieces match.").wait_for()
    assert "text=oilskin+coat" in window.url
    window.reload()
    assert window.locator("table.rows tbody tr").count() == 6
