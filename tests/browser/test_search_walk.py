"""A lost trunk is looked for with a phone: the list and its reasons, a place searched in vain, a label that reads
another number, what is in it scanned, its label made anew; and more can be dressed. By taps and scans alone.
"""

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect

from catalog.core import history
from catalog.storage.missing_models import SearchLine
from catalog.storage.models import Label, MissingFile, Place, Standing
from tests.demo_world import DemoWorld

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.walk]
SEVEN = ("LHS-0035", "LHS-0038", "LHS-0049", "LHS-0064", "LHS-0066", "LHS-0067", "LHS-0076")
CHANCE = re.compile(r"chance to find it (\d+) %")


class Phone:
    """One hand's phone: taps, scans, and what each page says; barriers are gathered on the way."""

    def __init__(self, page: Any, enter: Callable[[Any, Any], None], faults: Callable[[Any], list[str]]) -> None:
        self.page, self._enter, self._faults = page, enter, faults
        self.found: list[str] = []

    def take(self, person: Any) -> None:
        self.page.context.clear_cookies()
        self._enter(self.page, person)
        self.page.goto("/")

    def tap(self, role: str, name: str, *, exact: bool = True) -> str:
        with self.page.expect_navigation():
            self.page.get_by_role(role, name=name, exact=exact).first.click()
        return self.answer()

    def scan(self, *codes: str) -> None:
        """A keyboard scanner types each code and presses Enter, without waiting for what the page says."""
        self.page.locator("#id_code").focus()
        for code in codes:
            self.page.keyboard.type(code)
            self.page.keyboard.press("Enter")

    def scan_on(self, code: str) -> str:
        with self.page.expect_navigation():
            self.scan(code)
        return self.answer()

    def answer(self) -> str:
        return " ".join(self.page.locator("h1").inner_text().split())

    def look(self) -> str:
        self.found += self._faults(self.page)
        wide = "document.documentElement.scrollWidth > document.documentElement.clientWidth"
        assert not self.page.evaluate(wide), self.page.url
        return str(self.page.locator("main").inner_text()).replace("\u00a0", " ")

    def chances(self) -> dict[str, int]:
        """Each place of the list with its chance in percent, as the page shows them."""
        cards = self.page.locator(".look-next, .looks > li").all_inner_texts()
        found = {}
        for card in cards:
            code = re.search(r"[A-Z]{2}-[A-Z0-9-]+", card)
            chance = CHANCE.search(card.replace("\u00a0", " "))
            if code:
                found[code.group()] = int(chance.group(1)) if chance else 0
        return found


def dressed(phone: Phone, world: DemoWorld) -> str:
    phone.take(world.cast.wardrobe_lead)
    phone.tap("link", "RS-2026-01", exact=False)
    return phone.tap("link", "See who can be dressed")


def test_the_trunk_that_reads_another_number(
    demo_world: DemoWorld, phone: Any, enter: Callable[[Any, Any], None], faults: Callable[[Any], list[str]]
) -> None:
    hand = Phone(phone, enter, faults)
    assert dressed(hand, demo_world).startswith("13 of 20")

    # From the first page to the list: where things went in the leak comes first, each place with its reasons.
    hand.take(demo_world.cast.archivist)
    assert hand.tap("link", "T14 is not found", exact=False) == "Look for T14 at DK-DOCK next."
    said = hand.look()
    assert "2 things went there on 6 Mar 2019 (roof leak)" in said
    assert "Look also at any label that reads T41" in said
    before = hand.chances()
    assert list(before)[:2] == ["DK-DOCK", "WR-B4"]

    # The first place: searched, and not there. The list is weighed anew.
    phone.get_by_label("looked through").check()
    assert hand.tap("button", "Searched, not here") == "Look for T14 at WR-B4 next."
    after = hand.chances()
    assert after["DK-DOCK"] < before["DK-DOCK"]
    assert after["WR-B4"] > before["WR-B4"]
    assert SearchLine.objects.get().place.code == "DK-DOCK"

    # The second place: under the bench stands a trunk whose label leads nowhere. It is opened and compared.
    assert hand.scan_on("WR-B4") == "Is T14 at WR-B4?"
    expect(phone.get_by_label("Searched", exact=True)).to_have_value("WR-B4")
    hand.scan_on("T41")
    said = hand.look()
    assert "T14 may have been misread so" in said
    assert hand.tap("link", "Compare what is in it with T14's list") == "Is it T14? Its label reads T41."
    assert "7 pieces are on T14’s list; nothing is scanned yet." in hand.look()
    first, second, *rest = SEVEN
    hand.scan(first, f"HTTPS://LABELS.EXAMPLE/Q/{Label.objects.get(piece__number=second).code}")
    hand.scan_on("LHS-0090")  # not of its list: the archive says so, and nothing scanned before is lost
    assert "LHS-0090 is not on T14's list." in hand.look()
    expect(phone.get_by_text("2 of 7 on T14’s list are in it.")).to_be_visible()
    hand.scan(*rest)
    expect(phone.get_by_text("7 of 7 on T14’s list are in it.")).to_be_visible()
    phone.get_by_label("Make a new one for T14").check()
    hand.look()
    old = Label.objects.get(place__code="T14", retired_at=None)
    assert hand.tap("button", "Found, with what is ticked") == "Label of T14"
    assert "T14 is back at WR-B4. All 7 counted in it." in hand.look()

    trunk = Place.objects.select_related("parent").get(code="T14")
    assert (trunk.state, trunk.parent and trunk.parent.code) == ("in store", "WR-B4")
    assert Standing.objects.filter(piece__number__in=SEVEN, state="in store", place=trunk).count() == 7
    new = Label.objects.get(place=trunk, retired_at=None)
    assert new.code != old.code
    assert MissingFile.objects.get().outcome == "found at WR-B4"
    assert list(history.faults()) == []
    # The old label still leads to it; two more can be dressed.
    hand.take(demo_world.cast.archivist)
    phone.goto(f"/Q/{old.code}")
    assert hand.answer().startswith("Trunk T14: 7 pieces, two people to lift")
    assert dressed(hand, demo_world).startswith("15 of 20")
    assert phone.get_by_label("T14").count() == 0, "nothing is left to suppose about it"
    assert hand.found == []
