"""Makes the pictures of README.md from the demo: `.venv-test/bin/python -m tests.make_pictures`.

Loads a demo of its own in a scratch folder, serves it on this machine, and keeps what Chromium shows.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
TO = ROOT / "fixtures" / "pictures"
PORT = 8791
SITE = f"http://127.0.0.1:{PORT}"
DESK, TALL, PHONE = {"width": 1100, "height": 760}, {"width": 900, "height": 920}, {"width": 390, "height": 760}
# Name of the picture, who looks, where, how wide.
SHOTS = (
    ("dry-run", "wardrobe-lead", "/fitting/calls/{call}/dry-run/", DESK),
    ("whom", "wardrobe-lead", "/fitting/calls/{call}/who/", TALL),
    ("piece", "archivist", "/pieces/{piece}/", DESK),
    ("phone", "archivist", "/record/?kind=coat", PHONE),
)


def main() -> None:
    """Everything in a scratch folder, which is gone afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "WRAPKEEP_DATA": folder}
        manage = [sys.executable, str(ROOT / "manage.py")]
        told = subprocess.run(
            [*manage, "demo", "--no-serve"], env=environment, capture_output=True, text=True, check=True
        ).stdout
        passwords = dict(re.findall(r"^ {2}([a-z-]+) +(\S+)$", told, re.MULTILINE))
        call = re.search(r"^(\S+): \d+ of \d+ can be dressed", told, re.MULTILINE)
        if call is None:
            raise SystemExit("The demo did not answer its call.")
        server = subprocess.Popen([*manage, "runserver", "--noreload", f"127.0.0.1:{PORT}"], env=environment)
        try:
            _wait()
            _shoot(passwords, call[1])
        finally:
            server.terminate()


def _wait() -> None:
    for _ in range(120):
        try:
            urllib.request.urlopen(f"{SITE}/sign-in/", timeout=2).close()
        except OSError:
            time.sleep(0.5)
        else:
            return
    raise SystemExit("The site did not answer.")


def _shoot(passwords: dict[str, str], call: str) -> None:
    TO.mkdir(exist_ok=True)
    chromium = shutil.which("chromium")
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        for name, who, where, size in SHOTS:
            page = browser.new_context(viewport=size).new_page()  # type: ignore[arg-type]
            _sign_in(page, who, passwords[who])
            page.goto(f"{SITE}/find/?kind=coat")
            piece = page.locator("table.rows .tag-paper").first.inner_text().split()[-1]
            page.goto(SITE + where.format(call=call, piece=piece))
            _keep(page, TO / f"{name}.png")
        browser.close()


def _sign_in(page: Page, name: str, password: str) -> None:
    page.goto(f"{SITE}/sign-in/")
    page.get_by_label("Username").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()


def _keep(page: Page, path: Path) -> None:
    """A palette is enough for paper and ink, and keeps the repository small."""
    page.screenshot(path=path)
    with Image.open(path) as picture:
        small = picture.convert("RGB").quantize(96)
    small.save(path, optimize=True)


if __name__ == "__main__":
    main()
