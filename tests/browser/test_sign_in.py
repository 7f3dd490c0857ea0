"""The first page anybody meets: readable, by keyboard, on a phone and on a desk, by day and by night."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect


def told(page: Page) -> list[str]:
    """Collect what the browser complains about: scripts that fail, files that are missing, the content policy."""
    lines: list[str] = []
    page.on("console", lambda message: lines.append(message.text) if message.type in {"error", "warning"} else None)
    page.on("pageerror", lambda error: lines.append(str(error)))
    return lines


@pytest.mark.parametrize("size", ["desk", "phone"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_signing_in_has_no_faults(
    size: str, scheme: Any, open_page: Callable[[str], Page], faults: Callable[[Page], list[str]]
) -> None:
    page = open_page(size)
    page.emulate_media(color_scheme=scheme)
    complaints = told(page)
    page.goto("/sign-in/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")
    assert faults(page) == []
    assert complaints == []
    wider = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wider == 0, "the page can be pushed sideways"


def test_a_wrong_password_is_told_and_the_name_stays(page: Page) -> None:
    page.goto("/sign-in/")
    page.get_by_label("Username").fill("nobody")
    page.get_by_label("Password").fill("nothing")
    page.keyboard.press("Enter")
    expect(page.get_by_text("There is a problem")).to_be_visible()
    expect(page).to_have_title("Error: Sign in – Wrapkeep archive")
    expect(page.get_by_label("Username")).to_have_value("nobody")
