"""Every page that a duty reaches by links, on a phone: nothing for axe to find, one title, one act, no sideways scroll.

The crawl starts at the first page and opens each address pattern once, so a new page is looked at without being listed.
Checked by axe-core (WCAG 2.2 A and AA and its best practices); reflow at 320 px is WCAG 2.2, success criterion 1.4.10.
"""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.urls import Resolver404, resolve
from playwright.sync_api import Error

from catalog.access.duties import Duty
from catalog.access.permissions import ADDRESSES, Ability
from tests.demo_world import DemoWorld

pytestmark = pytest.mark.django_db(transaction=True)

# The fewest patterns a duty must reach, so that a crawl that stops at the door does not look green.
DUTIES = {"archivist": 40, "wardrobe_lead": 25, "set_costumer": 15, "production": 15, "visitor": 8}
PHONE, NARROWEST, DESK = 390, 320, 1280
SAMPLE = 5
LINKS = "links => links.map(link => link.href)"
OPEN_ALL = "details => details.forEach(one => { one.open = true })"


@dataclass
class Crawl:
    """One person's walk over the site: what was opened, by pattern, and what was wrong there."""

    window: Any
    faults: Callable[[Any], list[str]]
    first: bool
    opened: dict[str, str] = field(default_factory=dict)
    pages: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    def run(self) -> None:
        queue = deque(["/"])
        while queue:
            address = queue.popleft()
            name = pattern_of(address)
            if name is None or name in self.opened:
                continue
            self.opened[name] = address
            if self.is_page(address):
                self.pages.append(address)
                queue.extend(self.look(address, axe=self.first or not archivist_sees(name)))

    def is_page(self, address: str) -> bool:
        """Opens the address; whether it gives a page, not a table or a picture. It has to be there in either case."""
        try:
            answer = self.window.goto(address)
        except Error as refused:
            if "Download is starting" not in str(refused):
                raise
            answer = self.window.request.get(address)
        if answer.status != 200:
            self.wrong.append(f"{address} is linked and answers {answer.status}")
        return answer.status == 200 and answer.headers["content-type"].startswith("text/html")

    def look(self, address: str, *, axe: bool) -> list[str]:
        """Checks the open page on the phone and at the narrowest width; gives the links on it."""
        self.window.eval_on_selector_all("main details", OPEN_ALL)
        self.wrong += self.faults(self.window) if axe else []
        titles, acts = self.window.locator("h1").count(), self.window.locator(".next").count()
        if titles != 1 or acts > 1:
            self.wrong.append(f"{address} has {titles} titles and {acts} next steps")
        for width, height in ((PHONE, 844), (NARROWEST, 700)):
            self.window.set_viewport_size({"width": width, "height": height})
            self.wrong += too_wide(self.window, address, width)
        self.window.set_viewport_size({"width": PHONE, "height": 844})
        return [same_site(link) for link in self.window.eval_on_selector_all("a[href]", LINKS) if self.is_ours(link)]

    def is_ours(self, link: str) -> bool:
        return urlsplit(link)[:2] == urlsplit(self.window.url)[:2]


def archivist_sees(name: str) -> bool:
    """Axe looks at such a page in the archivist's crawl; the others' crawls need not ask it again."""
    needed = ADDRESSES[name]
    return not isinstance(needed, Ability) or Duty.ARCHIVIST in needed.duties


def same_site(link: str) -> str:
    parts = urlsplit(link)
    return f"{parts.path}?{parts.query}" if parts.query else parts.path


def pattern_of(address: str) -> str | None:
    """The name of the address's pattern; None for what the site does not route (its static files)."""
    try:
        return resolve(urlsplit(address).path).view_name
    except Resolver404:
        return None


def too_wide(window: Any, address: str, width: int) -> list[str]:
    """The page's own width against the width that was asked for: a phone widens its window to hide an overflow."""
    seen = window.evaluate("document.documentElement.scrollWidth")
    return [f"{address} is {seen} px wide in {width} px"] if seen > width else []


def spread(addresses: list[str], count: int) -> list[str]:
    """`count` of them, evenly spread, the first among them."""
    step = max(1, len(addresses) // count)
    return addresses[::step][:count]


@pytest.mark.parametrize("duty", DUTIES)
def test_every_page_a_duty_reaches(
    duty: str,
    demo_world: DemoWorld,
    open_page: Callable[[str], Any],
    enter: Callable[[Any, Any], None],
    faults: Callable[[Any], list[str]],
) -> None:
    phone, desk = open_page("phone"), open_page("desk")
    phone.emulate_media(color_scheme="light")
    enter(phone, getattr(demo_world.cast, duty))
    crawl = Crawl(phone, faults, duty in {"archivist", "visitor"})
    crawl.run()
    assert len(crawl.opened) >= DUTIES[duty], sorted(crawl.opened)
    desk.emulate_media(color_scheme="dark")
    enter(desk, getattr(demo_world.cast, duty))
    wrong = crawl.wrong
    for address in spread(crawl.pages, SAMPLE):
        desk.goto(address)
        wrong += [f"dark, {DESK} px: {fault}" for fault in faults(desk)] + too_wide(desk, address, DESK)
    assert wrong == []
