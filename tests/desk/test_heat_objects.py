"""Which trunk to open first: by what its pieces bear, in the invented archive."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from catalog.access.duties import Duty
from catalog.desk.heat_objects import LOOSE, call_objects
from catalog.loans.actions import hold
from catalog.pieces.models import Piece
from tests.demo_world import DemoWorld
from tests.reading import text_of

As = Callable[[Any], Client]
PAGE = "/calls/RS-2026-01/heat/objects/"


@pytest.fixture
def held(demo_world: DemoWorld) -> DemoWorld:
    call = demo_world.call
    hold(
        by=demo_world.cast.production,
        reference="T-1",
        for_whom="unit",
        pieces=list(Piece.objects.filter(production__code="LHS", role__code__in=["DIV", "KEE"])[:40]),
        use_from=call.load_on,
        use_to=call.back_on,
        strength="pencil",
        call=call,
    )
    return demo_world


def test_the_page_names_the_trunk_to_open_first(held: DemoWorld, as_user: As) -> None:
    found = call_objects(held.call)
    assert found.count == 40
    assert found.hottest_tenths_c == 330
    first = found.first
    assert first is not None
    trunks = [group.max_c for group in found.groups if group.name != LOOSE and group.max_c is not None]
    assert first.max_c == min(trunks)
    page = text_of(as_user(held.cast.wardrobe_lead).get(PAGE))
    assert f"no more than {first.max_c} °C" in page
    assert "33.0" in page
    assert "A conservator decides." in page
    assert f"Open {first.name} first" in page
    assert "lie in no trunk yet" in page


def test_who_may(held: DemoWorld, as_user: As) -> None:
    may = {Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.PRODUCTION}
    for duty in Duty:
        assert as_user(held.cast.of(duty)).get(PAGE).status_code == (200 if duty in may else 403), duty
    assert "/sign-in/" in as_user(None).get(PAGE)["Location"]
    assert as_user(held.cast.archivist).get("/calls/NO-SUCH/heat/objects/").status_code == 404
    assert PAGE in as_user(held.cast.production).get("/calls/RS-2026-01/heat/").content.decode()


def test_the_number_of_queries_does_not_grow(held: DemoWorld, django_assert_max_num_queries: Any) -> None:
    with django_assert_max_num_queries(10):
        assert call_objects(held.call).count == 40
