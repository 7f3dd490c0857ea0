"""The invented archive's workroom is counted with a phone: a trunk that reads another number, and what came of it."""

from collections.abc import Callable
from typing import Any

import pytest

from catalog.storage.models import Label, Place, Standing
from tests.demo_world import DemoWorld

pytestmark = pytest.mark.django_db(transaction=True)
SEVEN = ("LHS-0035", "LHS-0038", "LHS-0049", "LHS-0064", "LHS-0066", "LHS-0067", "LHS-0076")


def scan(phone: Any, *codes: str) -> None:
    """A keyboard scanner types each code and presses Enter, without waiting for what the page says."""
    phone.locator("#id_code:focus").wait_for()
    for code in codes:
        phone.keyboard.type(code)
        phone.keyboard.press("Enter")


def test_the_workroom_is_counted_and_the_lost_trunk_found(
    demo_world: DemoWorld, phone: Any, enter: Callable[[Any, Any], None], faults: Callable[[Any], list[str]]
) -> None:
    enter(phone, demo_world.cast.archivist)
    found: list[str] = []

    def look() -> str:
        found.extend(faults(phone))
        wide = "document.documentElement.scrollWidth > document.documentElement.clientWidth"
        assert not phone.evaluate(wide), phone.url
        return str(phone.locator("h1").inner_text()).replace("\n", " ")

    def press(role: str, name: str) -> str:
        with phone.expect_navigation():
            phone.get_by_role(role, name=name).click()
        return look()

    phone.goto("/stocktake/start/?place=WR")
    phone.get_by_label("everything there").check()
    look()
    assert press("button", "Start counting") == "4 places are left to count."
    assert press("link", "Count at WR") == "At WR: 0 things seen."
    scan(phone, "WR-B4", "T41")
    phone.get_by_text("Not on record").wait_for()
    assert press("button", "A trunk or box that reads T41") == "In container T41: 0 things seen."
    scan(phone, *SEVEN)
    phone.get_by_role("heading", name="7 things seen").wait_for()
    assert look() == "In container T41: 7 things seen."
    assert "T14" not in phone.locator("main").inner_text()
    assert press("link", "Container T41 is done") == "At WR-B4: 8 things seen."
    assert press("button", "All of WR-B4 is counted") == "3 places are left to count."
    assert press("link", "Close it") == "3 places were not counted."
    assert press("button", "Close it") == "1 difference is to settle."
    assert press("link", "Is it really T14?").startswith("Container T41 holds what T14 should: 7 of 7 agree.")
    phone.get_by_label("It is T14").check()
    phone.get_by_label("Make a new one for T14").check()
    assert press("button", "All 7 are in it") == "Label of T14"
    assert "7 pieces are found in it" in phone.locator("#messages").inner_text()
    trunk = Place.objects.select_related("parent").get(code="T14")
    assert (trunk.state, trunk.parent.code) == ("in store", "WR-B4")
    standings = Standing.objects.filter(piece__number__in=SEVEN, state="in store", place=trunk)
    assert standings.filter(last_seen=demo_world.today).count() == 7
    assert Label.objects.filter(place=trunk, retired_at=None).count() == 1
    phone.goto("/stocktake/coverage/")
    assert look().startswith("100 % of the store was seen")
    assert found == []
