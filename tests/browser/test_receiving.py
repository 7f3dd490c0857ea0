"""A trunk received and unpacked with one thumb on a phone."""

import time
from collections.abc import Callable
from typing import Any

import pytest

from catalog.access.models import User
from catalog.pieces.models import Piece
from catalog.storage import actions as storage
from catalog.storage.missing_models import FoundThing
from catalog.storage.receiving_models import Receipt
from tests.cast import Cast
from tests.storage.world import make_store

pytestmark = pytest.mark.django_db(transaction=True)
ONE_MINUTE_S = 60


def test_a_trunk_in_under_a_minute_then_two_things_out_of_it(
    cast: Cast, phone: Any, enter: Callable[[Any, User], None], faults: Callable[[Any], list[str]]
) -> None:
    make_store(cast)
    blank = storage.make_blanks(by=cast.archivist, count=1)[0]
    enter(phone, cast.archivist)
    started = time.monotonic()
    phone.goto("/")
    phone.get_by_role("link", name="Receive a trunk").tap()
    phone.wait_for_url("**/storage/receive/")
    phone.get_by_label("Label on it").click()
    phone.keyboard.type(f"HTTPS://ARCHIVE.EXAMPLE/Q/{blank.code}")
    phone.keyboard.press("Enter")
    assert phone.url.endswith("/receive/"), "a scan does not send the form"
    phone.get_by_label("Pieces said to be in it").fill("2")
    phone.get_by_label("Seal number").fill("4711")
    phone.get_by_label("Weight as it stands").fill("31")
    phone.get_by_label("Production").select_option("MOOR")
    phone.get_by_role("button", name="Receive it", exact=True).tap()
    phone.wait_for_url("**/storage/T01/")
    assert time.monotonic() - started < ONE_MINUTE_S
    phone.goto("/storage/receive/")
    assert faults(phone) == []
    phone.goto("/storage/T01/")
    phone.get_by_role("link", name="Unpack", exact=True).tap()
    phone.wait_for_url("**/storage/T01/unpack/")
    phone.get_by_label("Kind").select_option("boots")
    phone.get_by_label("Name").fill("sea boots")
    phone.get_by_role("button", name="List it and take the next").tap()
    phone.get_by_text("T01: 1 of 2 listed.").wait_for()
    phone.get_by_label("Name").fill("one brown gauntlet")
    phone.get_by_label("Kind").select_option("gloves")
    phone.get_by_role("button", name="It is unclear: temporary tag").tap()
    phone.get_by_text("T01: 2 of 2 listed.").wait_for()
    assert faults(phone) == []
    wide = "document.documentElement.scrollWidth <= document.documentElement.clientWidth"
    assert phone.evaluate(wide), "nothing stands over the edge"
    phone.get_by_role("button", name="All listed").tap()
    phone.get_by_text("All that came in T01 is listed.").wait_for()
    assert Piece.objects.get(number="MOOR-0001").parts.count() == 2
    assert FoundThing.objects.get().place == Receipt.objects.get().container
    assert Receipt.objects.get().listed == 2
