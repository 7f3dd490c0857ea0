"""A table looked at and loaded in the browser, at both widths; no step has a barrier."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from catalog.pieces.models import Production
from tests.cast import Cast

pytestmark = pytest.mark.django_db(transaction=True)
TABLE = "code,title,year\nZ,Zephyr,1999\nY,Yard,2001\n"


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_a_table_is_looked_at_and_loaded(
    cast: Cast,
    open_page: Callable[[str], Any],
    enter: Callable[[Any, Any], None],
    faults: Callable[[Any], list[str]],
    tmp_path: Path,
    size: str,
) -> None:
    page = open_page(size)
    enter(page, cast.archivist)
    page.goto("/tables/")
    seen = faults(page)
    page.get_by_label("What is in it").select_option("productions")
    page.get_by_label("File", exact=False).first.set_input_files(
        {"name": "bad.csv", "mimeType": "text/csv", "buffer": b"code,title,year\nZ,,soon\n"}
    )
    page.get_by_role("button", name="Look at it first").click()
    assert page.get_by_text("Row 2, year: “soon” is not a number.").first.is_visible()
    seen += faults(page)
    page.get_by_label("Or pasted rows").fill(TABLE)
    page.get_by_role("button", name="Look at it first").click()
    page.get_by_role("button", name="Load 2 rows").wait_for()
    seen += faults(page)
    assert not Production.objects.exists()
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    page.screenshot(path=str(tmp_path / f"look-{size}.png"))
    page.get_by_role("button", name="Load 2 rows").click()
    page.get_by_text("2 productions stored.").wait_for()
    assert Production.objects.count() == 2
    page.goto("/tables/columns/pieces/")
    seen += faults(page)
    assert seen == []
    assert wide <= 0
