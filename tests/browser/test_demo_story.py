"""The invented archive's call as three people meet it in a browser: who can be dressed, and what changes it.

Check values on these tables: 13 of 20 as recorded, 15 with the lost trunk found, 17 with the museum's release too.
"""

import csv
import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.demo_world import FOLDER, DemoWorld

pytestmark = pytest.mark.django_db(transaction=True)
DRY_RUN = "/fitting/calls/RS-2026-01/dry-run/"
# What production may read of the call.
FOR_PRODUCTION = (
    DRY_RUN,
    f"{DRY_RUN}?making=yes",
    "/fitting/calls/RS-2026-01/plan/",
    "/calls/RS-2026-01/",
    "/calls/RS-2026-01/performers/",
)
NO_SIZE = {"id", "name", "exclusions", "available", "card_date", "taped_on"}
# Smaller numbers are counts and days of the month on these pages, and would be found everywhere.
LOWEST = 50
NUMBER = re.compile(r"(?<![\w.\-])\d+(?:\.\d+)?(?![\w\-])")
# "2 in one whole set" is a count, not two inches.
WITH_UNIT = re.compile(r"\d\s?(?:cm|mm|kg|g|lb|in(?! one))\b")
# Duty, page, act: the one thing the page is for, and how often Tab may be pressed to come to it.
ACTS = (
    ("archivist", "/", "Record a piece"),
    ("archivist", "/pieces/LHS-0001/", "Move it"),
    ("wardrobe_lead", DRY_RUN, "Keep this plan"),
    ("production", "/calls/RS-2026-01/", "See who can be dressed"),
    ("set_costumer", "/scan/", "Open"),
    ("visitor", "/find/", "Find"),
)
MOST_TABS = 60
FOCUS = """() => {
    const here = document.activeElement, style = getComputedStyle(here);
    return [here.innerText?.trim(), style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth)];
}"""
Enter = Callable[[Any, Any], None]
OpenPage = Callable[[str], Any]


def says(page: Any) -> str:
    """The answer, then the counts by role as "6 of 10"."""
    answer = " ".join(page.locator("h1").inner_text().split())
    counts = " ".join(" ".join(count.split()) for count in page.locator(".counts b").all_inner_texts())
    return f"{answer} {counts}"


def body_numbers() -> set[str]:
    """Every number of the roster that tells a body, as pages write it: with one decimal, and whole numbers bare too."""
    found = set()
    with (FOLDER / "extras.csv").open(encoding="utf-8-sig") as table:
        for row in csv.DictReader(table):
            for column, value in row.items():
                if value and column not in NO_SIZE:
                    found |= {f"{float(value):g}", f"{float(value):.1f}"}
    assert len(found) > 200
    return {number for number in found if float(number) >= LOWEST}


def suppose(page: Any, words: str) -> None:
    page.get_by_label(words).check()
    page.get_by_role("button", name="Work it out so").click()
    page.wait_for_load_state()


def test_what_if_says_thirteen_fifteen_seventeen_twenty(
    demo_world: DemoWorld, open_page: OpenPage, enter: Enter
) -> None:
    page = open_page("phone")
    enter(page, demo_world.cast.wardrobe_lead)
    page.goto("/")
    page.get_by_role("link", name="RS-2026-01", exact=False).first.click()
    page.get_by_role("link", name="See who can be dressed").click()
    assert says(page) == "13 of 20 can be dressed as recorded. 6 of 10 5 of 6 2 of 4"
    suppose(page, "T14")
    assert says(page) == "If T14 is found: 15 of 20 can be dressed. 8 of 10 5 of 6 2 of 4"
    suppose(page, "H-02")
    assert says(page) == "If T14 is found and H-02 is released: 17 of 20 can be dressed. 8 of 10 5 of 6 4 of 4"
    suppose(page, "As if what is short were made")
    supposed = "If T14 is found, H-02 is released and what is short is made: "
    assert says(page) == supposed + "20 of 20 can be dressed, 6 pieces made. 10 of 10 6 of 6 4 of 4"


def test_production_reads_no_number_of_a_body(demo_world: DemoWorld, open_page: OpenPage, enter: Enter) -> None:
    page = open_page("desk")
    enter(page, demo_world.cast.wardrobe_lead)
    # The same search finds sizes where they may stand, so that it is no search for nothing.
    page.goto("/fitting/calls/RS-2026-01/sizes/")
    sizes = body_numbers()
    assert len(sizes & set(NUMBER.findall(page.locator("main").text_content()))) > 100
    page.goto(f"{DRY_RUN}?making=yes")
    page.get_by_role("button", name="Keep this plan").click()
    page.wait_for_load_state()
    production = open_page("desk")
    enter(production, demo_world.cast.production)
    for address in FOR_PRODUCTION:
        assert production.goto(address).status == 200
        text = production.locator("main").text_content()
        assert sizes & set(NUMBER.findall(text)) == set(), address
        assert WITH_UNIT.findall(text) == [], address
    assert production.goto("/fitting/calls/RS-2026-01/sizes/").status == 403


def test_the_act_is_reached_with_the_tab_key_and_shows_it(
    demo_world: DemoWorld, open_page: OpenPage, enter: Enter
) -> None:
    missed = []
    for duty, address, act in ACTS:
        page = open_page("desk")
        enter(page, getattr(demo_world.cast, duty))
        page.goto(address)
        for _ in range(MOST_TABS):
            page.keyboard.press("Tab")
            word, ring = page.evaluate(FOCUS)
            if word == act:
                missed += [] if ring >= 2 else [f"“{act}” on {address} does not show that it has the focus"]
                break
        else:
            missed.append(f"{MOST_TABS} times Tab do not reach “{act}” on {address}")
        page.context.close()
    assert missed == []
