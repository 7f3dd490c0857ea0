"""Scanning with a phone: a walk into a cellar without signal and out again, and a label read by the camera."""

import re
from pathlib import Path
from typing import Any

import pytest
import qrcode
from PIL import Image
from playwright.sync_api import Error, expect

from catalog.core.history import faults as history_faults
from catalog.pieces.models import Piece
from catalog.storage import actions
from catalog.storage.models import Move, Standing
from catalog.storage.scan_models import KeptScan
from tests.cast import Cast
from tests.storage.world import Store, make_store


@pytest.fixture
def store(cast: Cast) -> Store:
    return make_store(cast)


def at(number: str) -> str:
    return str(Standing.objects.get(piece__number=number).place)


def scan(page: Any, *codes: str) -> None:
    """As a keyboard scanner does it: the code, then Enter, into whatever has the focus."""
    for code in codes:
        page.keyboard.type(code)
        page.keyboard.press("Enter")


def test_into_the_cellar_and_out_again(store: Store, phone: Any, enter: Any, faults: Any) -> None:
    code = actions.issue_label(by=store.cast.archivist, piece=Piece.objects.get(number="M-0002")).code
    enter(phone, store.cast.archivist)
    phone.goto("/scan/?way=many")
    phone.evaluate("navigator.serviceWorker.ready.then(() => true)")
    assert faults(phone) == []
    phone.context.set_offline(True)
    phone.goto("/scan/?way=many")
    expect(phone.locator("[data-silent]")).to_be_visible()
    expect(phone.locator("[data-answer]")).to_have_text("Scan the place to fill.")
    assert faults(phone) == []
    scan(phone, "BENCH")
    expect(phone.locator("[data-answer]")).to_have_text("Scan each thing you put here.")
    scan(phone, code[:6] + ("A" if code[6] != "A" else "B"))
    expect(phone.locator("[data-sign-now]")).to_contain_text("wrong check character")
    scan(phone, "M-0003", "BOX1", f"HTTPS://LABELS.EXAMPLE/Q/{code}")
    expect(phone.locator("[data-waiting-count]")).to_have_text("3 scans wait on this phone: no signal.")
    expect(phone.locator("[data-sign-now]")).to_contain_text("Kept on this phone")
    phone.get_by_role("button", name="Undo").click()
    expect(phone.locator("input:focus")).to_have_count(1)
    expect(phone.locator("[data-waiting-count]")).to_have_text("4 scans wait on this phone: no signal.")
    phone.goto("/scan/?way=many&to=BENCH")  # the phone was put away and taken out again
    expect(phone.locator("[data-waiting-count]")).to_have_text(re.compile("^4 scans wait"))
    expect(phone.locator("[data-slots]")).to_contain_text("BENCH")
    other = phone.context.new_page()
    with pytest.raises(Error):
        other.goto("/storage/")
    other.close()
    assert Move.objects.filter(to_place__code="BENCH").count() == 0
    # Meanwhile somebody with a signal puts one of the things elsewhere.
    actions.move_piece(by=store.cast.set_costumer, piece=Piece.objects.get(number="M-0003"), to=store["CAGE"])

    phone.context.set_offline(False)
    expect(phone.locator("[data-sign-now]")).to_contain_text("4 scans were sent.")
    expect(phone.locator("[data-sign-now]")).to_contain_text("Waits for a decision")
    expect(phone.locator("[data-waiting]")).to_be_hidden()
    expect(phone.locator("[data-kept-line]")).to_contain_text("1 scan waits for a decision")
    expect(phone.locator("[data-signal]")).to_be_visible()
    assert (at("M-0003"), str(store["BOX1"].parent), at("M-0002")) == ("CAGE", "BENCH", "BOX1")
    kept, moved = KeptScan.objects.get(), Move.objects.get(container__code="BOX1", to_place__code="BENCH")
    assert "was moved to CAGE by set_costumer" in kept.why
    assert moved.happened < moved.recorded
    assert Move.objects.filter(undoes__isnull=False, piece__number="M-0002").count() == 1
    assert list(history_faults()) == []

    # Signed out by the hour while a scan is made: it is kept under its maker's name, and the way in is shown.
    phone.goto("/scan/?way=many&to=BENCH")
    cookies = phone.context.cookies()
    phone.context.clear_cookies()
    scan(phone, "M-0001")
    expect(phone.get_by_role("link", name="Sign in")).to_be_visible()
    phone.context.add_cookies(cookies)
    phone.get_by_role("button", name="Send now").click()
    expect(phone.locator("[data-waiting]")).to_be_hidden()
    assert at("M-0001") == "BENCH"

    phone.goto("/scan/")
    phone.locator(".nav-fold summary").click()
    phone.get_by_role("button", name="Sign out").last.click()
    phone.wait_for_url("**/sign-in/")
    expect(phone.locator("h1")).to_have_text("Sign in")
    expect(phone.locator("[data-queue-left]")).to_have_attribute("data-cleared", "yes")
    assert phone.evaluate("caches.keys()") == []
    assert phone.evaluate("navigator.serviceWorker.getRegistrations().then((all) => all.length)") == 0


def video(path: Path, text: str) -> None:
    """A short film of a label, as Chromium's fake camera plays it (YUV4MPEG2, 4:2:0)."""
    wide, high = 640, 480
    code = qrcode.make(text, box_size=7).get_image().convert("L")
    wall = Image.new("L", (wide, high), 140)
    wall.paste(code, ((wide - code.width) // 2, (high - code.height) // 2))
    frame = b"FRAME\n" + wall.tobytes() + bytes([128]) * (wide * high // 2)
    path.write_bytes(f"YUV4MPEG2 W{wide} H{high} F10:1 Ip A1:1 C420jpeg\n".encode() + frame * 4)


def test_the_camera_is_asked_on_a_tap_and_reads_a_label(
    store: Store,
    playwright: Any,
    browser_type_launch_args: dict[str, Any],
    live_server: Any,
    enter: Any,
    tmp_path: Path,
) -> None:
    label = actions.issue_label(by=store.cast.archivist, piece=Piece.objects.get(number="M-0003")).code
    video(tmp_path / "label.y4m", f"HTTPS://LABELS.EXAMPLE/Q/{label}")
    args = [one for one in browser_type_launch_args["args"] if "fake-ui" not in one]
    args += ["--use-fake-device-for-media-stream", f"--use-file-for-fake-video-capture={tmp_path / 'label.y4m'}"]
    browser = playwright.chromium.launch(**{**browser_type_launch_args, "args": args})
    shape = {"base_url": live_server.url, "viewport": {"width": 390, "height": 844}}
    try:
        # Refused, absent, opened without HTTPS: a sentence each, and nothing is asked before the tap.
        for script, said in (
            ("", "The camera was refused."),
            (
                "navigator.mediaDevices.getUserMedia = async () => { throw new DOMException('', 'NotFoundError') }",
                "has no",
            ),
            ("Object.defineProperty(window, 'isSecureContext', { value: false })", "needs HTTPS"),
        ):
            page = browser.new_context(**shape).new_page()
            page.add_init_script(script)
            enter(page, store.cast.archivist)
            page.goto("/scan/")
            expect(page.locator("[data-camera-said]")).to_be_empty()
            page.get_by_role("button", name="Use the camera").click()
            expect(page.locator("[data-camera-said]")).to_contain_text(said)
        page = browser.new_context(**shape, permissions=["camera"]).new_page()
        enter(page, store.cast.archivist)
        page.goto("/scan/?way=put")
        page.get_by_role("button", name="Use the camera").click()
        expect(page.locator("[data-answer]")).to_have_text("Scan where it goes.", timeout=10_000)
        expect(page.locator("[data-slots]")).to_contain_text("M-0003")
        page.get_by_role("button", name="Stop the camera").click()
        expect(page.locator("video")).to_be_hidden()
    finally:
        browser.close()
