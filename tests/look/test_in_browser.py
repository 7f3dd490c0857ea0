"""The page with every part on it, in Chromium: widths, targets, focus, both schemes, axe, and the scripts."""

import mimetypes
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from playwright.sync_api import expect

from tests.look.sample import render

pytestmark = pytest.mark.browser
POLICY = "default-src 'self'; style-src 'self'; script-src 'self'; img-src 'self'; object-src 'none'"
Opener = Callable[..., Any]


@pytest.fixture
def opened(new_context: Callable[..., Any]) -> Iterator[Opener]:
    """`opened(width, scheme)`: the page at that width. Anything on the console fails the test."""
    complaints: list[str] = []
    html = render()

    def answer(route: Any) -> None:
        path = route.request.url.removeprefix("http://look.test").split("?")[0]
        file = finders.find(path.removeprefix("/static/")) if path.startswith("/static/") else None
        if file:
            kind = mimetypes.guess_type(path)[0] or "application/octet-stream"
            route.fulfill(body=Path(file).read_bytes(), content_type=kind)
        elif path == "/":
            route.fulfill(body=html, content_type="text/html", headers={"Content-Security-Policy": POLICY})
        else:
            route.fulfill(status=404, body="")

    def open_page(width: int, scheme: str = "light", **more: Any) -> Any:
        page = new_context(viewport={"width": width, "height": 844}, color_scheme=scheme, **more).new_page()
        page.on("console", lambda line: complaints.append(line.text) if line.type in {"error", "warning"} else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.route("http://look.test/**", answer)
        page.goto("http://look.test/")
        return page

    yield open_page
    assert complaints == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_axe_finds_nothing(opened: Opener, faults: Callable[[Any], list[str]], width: int, scheme: str) -> None:
    assert faults(opened(width, scheme)) == []


@pytest.mark.parametrize("width", [320, 390, 700, 1000, 1280])
def test_nothing_scrolls_sideways(opened: Opener, width: int) -> None:
    page = opened(width)
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0


def test_the_act_lies_in_thumb_reach_on_a_phone(opened: Opener) -> None:
    box = opened(390).locator(".next .act").bounding_box()
    assert box["height"] >= 48
    assert box["width"] >= 390 - 2 * 20
    assert box["y"] > 844 * 0.6
    assert box["y"] + box["height"] <= 844


def test_targets_are_big_enough_for_a_thumb(opened: Opener) -> None:
    """44 px high; a link inside a sentence is excused (WCAG 2.2, 2.5.8, the inline exception)."""
    small = opened(390).evaluate(
        """() => [...document.querySelectorAll('a, button, input, select, textarea, summary')].filter((e) => {
            const target = e.closest('label') || (e.id && document.querySelector(`label[for="${e.id}"]`)) || e;
            const box = e.getBoundingClientRect(), other = target.getBoundingClientRect();
            const inline = getComputedStyle(e).display === 'inline';
            return box.width && !inline && e.type !== 'hidden' && Math.max(box.height, other.height) < 43.5;
        }).map((e) => e.outerHTML.slice(0, 90))"""
    )
    assert small == []


@pytest.mark.parametrize("width", [390, 1280])
def test_focus_is_seen_and_never_hidden(opened: Opener, width: int) -> None:
    """Tab through the page: each stop has an outline and is itself what lies at its own middle (2.4.7, 2.4.11)."""
    page = opened(width)
    page.locator("body").evaluate("(e) => { document.activeElement.blur(); window.scrollTo(0, 0); }")
    stops = 0
    for _ in range(80):
        page.keyboard.press("Tab")
        seen = page.evaluate(
            """() => {
                const e = document.activeElement;
                if (!e || e === document.body) return null;
                const box = e.getClientRects()[0];
                const at = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
                const style = getComputedStyle(e);
                return {what: e.outerHTML.slice(0, 90), ring: style.outlineStyle !== 'none',
                        top: !!at && (e === at || e.contains(at) || at.contains(e) && !at.matches('main, body, html'))};
            }"""
        )
        if seen is None:
            break
        stops += 1
        assert seen["ring"], seen["what"]
        assert seen["top"], seen["what"]
    assert stops > 20


def test_the_summary_has_the_focus_and_its_links_lead_to_the_fields(opened: Opener) -> None:
    page = opened(1280)
    assert page.evaluate("document.activeElement.matches('[data-error-summary]')")
    page.get_by_role("link", name="Number:").click()
    assert page.evaluate("document.activeElement.id") == "id_number"


def test_what_was_typed_stays_even_where_a_number_is_asked(opened: Opener) -> None:
    assert opened(390).locator("#id_chest").input_value() == "wide"


def test_a_phone_shows_cards_and_a_desk_a_table(opened: Opener) -> None:
    display = "getComputedStyle(document.querySelector('.rows tbody tr')).display"
    assert opened(390).evaluate(display) == "block"
    assert opened(1280).evaluate(display) == "table-row"


def test_the_menu_opens_without_a_script(new_context: Callable[..., Any]) -> None:
    page = new_context(viewport={"width": 390, "height": 844}, java_script_enabled=False).new_page()
    page.route("http://look.test/", lambda route: route.fulfill(body=render(), content_type="text/html"))
    page.route(
        "http://look.test/static/**",
        lambda route: route.fulfill(
            path=finders.find(route.request.url.split("/static/")[1]),
            content_type=mimetypes.guess_type(route.request.url)[0],
        ),
    )
    page.goto("http://look.test/")
    link = page.locator(".nav-fold details").get_by_role("link", name="House rules")
    assert not link.is_visible()
    page.get_by_text("Menu").click()
    assert link.is_visible()


def test_the_scheme_follows_the_system(opened: Opener) -> None:
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    assert opened(390, "light").evaluate(ground) == "rgb(251, 248, 242)"
    assert opened(390, "dark").evaluate(ground) == "rgb(21, 23, 26)"


def test_paper_has_no_menus_but_the_address_and_the_date(opened: Opener) -> None:
    page = opened(1280, "dark")
    page.emulate_media(media="print")
    for gone in (".top", ".next", ".pager", ".filters", "form.scan"):
        assert not page.locator(gone).first.is_visible(), gone
    foot = page.locator(".foot .only-print")
    assert foot.is_visible()
    assert "http://testserver/find/?q=coat" in foot.inner_text()
    assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"


def test_a_fast_scanner_loses_nothing(opened: Opener) -> None:
    """Twenty codes typed as a scanner does, half ended by Enter, half by Tab, while each answer takes its time."""
    page = opened(1280)
    got: list[str] = []

    def slow(route: Any) -> None:
        got.append(route.request.post_data or "")
        page.wait_for_timeout(30)
        route.fulfill(body="<p>read</p>", content_type="text/html")

    page.route("http://look.test/", slow)
    page.locator("#id_code").focus()
    for number in range(20):
        page.keyboard.type(f"P{number:05d}X")
        page.keyboard.press("Enter" if number % 2 else "Tab")
    expect(page.locator("form[data-scan-queue] [data-scan-note]")).to_be_empty()
    page.wait_for_timeout(300)
    assert [body.split("code=")[1].split("&")[0] for body in got] == [f"P{number:05d}X" for number in range(20)]
    assert page.evaluate("document.activeElement.id") == "id_code"
    assert page.locator("#read").inner_text() == "read"


def test_a_person_who_tabs_goes_on_to_the_button(opened: Opener) -> None:
    page = opened(1280)
    page.locator("#id_code").focus()
    page.keyboard.type("P00001X", delay=150)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Open"
    assert page.locator("#id_code").input_value() == "P00001X"


def test_a_phone_with_a_scanner_keeps_its_keyboard_away(opened: Opener) -> None:
    page = opened(390, has_touch=True, is_mobile=True)
    field = page.locator("#id_code")
    assert field.get_attribute("inputmode") == "text"
    page.get_by_role("button", name="I use a scanner").click()
    assert field.get_attribute("inputmode") == "none"
    page.reload()
    assert field.get_attribute("inputmode") == "none", "the choice is kept on this phone"
    page.get_by_role("button", name="Type a code instead").click()
    assert field.get_attribute("inputmode") == "text"


def test_before_and_after_work_by_buttons_and_by_slider(opened: Opener) -> None:
    page = opened(1280)
    later = page.locator(".compare .frame img").nth(1)
    page.get_by_label("before", exact=True).check()
    assert not later.is_visible()
    page.locator(".compare input[type=range]").fill("40")
    assert later.is_visible()
    assert page.get_by_label("after", exact=True).is_checked()
