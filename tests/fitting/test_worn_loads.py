"""What the planned dresses weigh: for the wardrobe lead alone, told to the history, with the cautions."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from catalog.core.models import HistoryLine
from catalog.fitting import actions
from catalog.fitting.load_queries import loads_of
from catalog.fitting.models import Plan, SizeSheet
from catalog.fitting.queries import dry_run
from catalog.pieces.models import Piece
from tests.demo_world import DemoWorld
from tests.reading import text_of

SignIn = Callable[[Any], Client]
PAGE = "/fitting/calls/RS-2026-01/load/"


@pytest.fixture
def plan(demo_world: DemoWorld) -> Plan:
    return actions.store_plan(by=demo_world.cast.wardrobe_lead, run=dry_run(demo_world.call))


def test_a_dress_weighs_what_its_pieces_weigh(plan: Plan) -> None:
    for row in loads_of(plan):
        own = [line.piece for line in row.lines if line.piece is not None]
        assert row.load.known_g == sum(piece.weight_g or 0 for piece in own)
        sheet = row.wearer.sheets.exclude(layer="card").first()
        if sheet is not None and sheet.weight_g and row.load.share is not None:
            assert row.load.share == pytest.approx(row.load.known_g / sheet.weight_g)


def test_a_piece_not_weighed_makes_it_a_lower_bound(plan: Plan, demo_world: DemoWorld, as_user: SignIn) -> None:
    line = plan.lines.filter(piece__isnull=False).first()
    assert line is not None
    assert line.piece is not None
    Piece.objects.filter(pk=line.piece_id).update(weight_g=None)
    row = next(row for row in loads_of(plan) if row.wearer.pk == line.wearer_id)
    assert line.piece.number in row.load.not_weighed
    assert row.least
    assert "at least" in text_of(as_user(demo_world.cast.wardrobe_lead).get(PAGE))


def test_without_an_own_weight_no_share_is_told(plan: Plan, demo_world: DemoWorld, as_user: SignIn) -> None:
    SizeSheet.objects.update(weight_g=None)
    assert all(row.in_hundred is None for row in loads_of(plan))
    assert "own weight is not known" in text_of(as_user(demo_world.cast.wardrobe_lead).get(PAGE))


def test_the_page_sets_no_limit_and_says_who_decides(plan: Plan, demo_world: DemoWorld, as_user: SignIn) -> None:
    words = text_of(as_user(demo_world.cast.wardrobe_lead).get(PAGE))
    assert "a competent person decides" in words
    assert "without qualified supervision" in words
    told = HistoryLine.objects.filter(verb="size sheets read", subject_id=demo_world.call.reference)
    assert told.exists()


def test_without_a_plan_the_page_says_what_to_do(demo_world: DemoWorld, as_user: SignIn) -> None:
    page = as_user(demo_world.cast.wardrobe_lead).get(PAGE)
    assert "No plan is kept" in text_of(page)


def test_nobody_else_reads_it(plan: Plan, demo_world: DemoWorld, as_user: SignIn, client: Client) -> None:
    cast = demo_world.cast
    for person in (cast.archivist, cast.production, cast.set_costumer, cast.visitor):
        assert as_user(person).get(PAGE).status_code == 403
    assert client.get(PAGE).status_code in {302, 401}


def test_a_fixed_number_of_queries(
    plan: Plan, demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any
) -> None:
    client = as_user(demo_world.cast.wardrobe_lead)
    with django_assert_max_num_queries(22):
        client.get(PAGE)
