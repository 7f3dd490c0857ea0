"""The fitting room in a browser: both widths, no sideways scroll, nothing for axe to find; quick fit by keyboard."""

from collections.abc import Callable
from typing import Any

import pytest

from catalog.fitting.actions import store_plan
from catalog.fitting.queries import dry_run
from tests.demo_world import DemoWorld

CALL = "/fitting/calls/RS-2026-01/"
PAGES = {
    "wardrobe_lead": (
        "/fitting/sets/DIV/", f"{CALL}dry-run/?making=yes", f"{CALL}sizes/", f"{CALL}sizes/E09/", "/fitting/kept/",
        f"{CALL}dry-run/?found=T14&released=H-02", f"{CALL}side-by-side/", f"{CALL}plan/",
        f"{CALL}why-not/?performer=E14",
        f"{CALL}why-not/?performer=E14&piece=LHS-0001", f"{CALL}take-over/E01/", f"{CALL}who/", f"{CALL}fittings/",
        f"{CALL}load/", f"{CALL}short/", f"{CALL}other-plans/",
    ),
    "archivist": ("/fitting/sets/", "/fitting/bands/", "/fitting/exclusions/"),
}  # fmt: skip


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_pages_are_usable_at_this_width(
    transactional_db: None,
    load_demo_world: Callable[[], DemoWorld],
    open_page: Callable[[str], Any],
    enter: Callable[[Any, Any], None],
    faults: Callable[[Any], list[str]],
    size: str,
) -> None:
    demo = load_demo_world()
    store_plan(by=demo.cast.wardrobe_lead, run=dry_run(demo.call))
    found = []
    for person, addresses in PAGES.items():
        page = open_page(size)
        enter(page, getattr(demo.cast, person))
        for address in addresses:
            page.goto(address)
            for details in page.query_selector_all("details.card > summary")[:2]:
                details.click()
            sideways = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            found += [f"{address} scrolls sideways by {sideways}"] if sideways > 0 else []
            found += faults(page)
    assert found == []


def test_quick_fit_on_a_phone_by_keyboard(
    transactional_db: None,
    load_demo_world: Callable[[], DemoWorld],
    open_page: Callable[[str], Any],
    enter: Callable[[Any, Any], None],
    faults: Callable[[Any], list[str]],
) -> None:
    demo = load_demo_world()
    page = open_page("phone")
    enter(page, demo.cast.production)
    page.goto("/fitting/quick/")
    page.get_by_label("Role").select_option(label="Harbour Diver, LHS")
    page.get_by_label("Height").focus()
    page.keyboard.type("5 ft 10")
    page.get_by_label("Weight").focus()
    page.keyboard.type("77")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="sets, the most likely first").wait_for()
    assert page.url.endswith("/fitting/quick/")
    assert "in 100" in page.inner_text("h1")
    assert page.get_by_label("Height").input_value() == "5 ft 10"
    assert faults(page) == []
