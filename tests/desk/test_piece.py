"""The piece's page: everything a duty may see, and nothing else."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from catalog.access.duties import Duty
from catalog.pieces.models import Piece
from tests.demo_world import DemoWorld
from tests.reading import without_random

As = Callable[[Any], Client]


def page(client: Client, number: str) -> str:
    answer = client.get(f"/pieces/{number}/")
    assert answer.status_code == 200
    return without_random(answer.content.decode())


def test_it_says_where_what_and_whether_it_may_be_worn(demo_world: DemoWorld, as_user: As) -> None:
    text = page(as_user(demo_world.cast.archivist), "LHS-0114")
    for told in ("may be worn", "108.0 cm", "H-02", "EUR", "Customs Officer", "History"):
        assert told in text, told


def test_a_piece_in_the_lost_trunk_is_not_found(demo_world: DemoWorld, as_user: As) -> None:
    text = page(as_user(demo_world.cast.archivist), "LHS-0035")
    assert "not found" in text
    assert "T14" in text


def test_the_damaged_pack_stays_and_the_caution_stands_first(demo_world: DemoWorld, as_user: As) -> None:
    text = page(as_user(demo_world.cast.archivist), "LHS-0111")
    assert "stays" in text
    assert text.index("Caution") < text.index("Where it is")


@pytest.mark.parametrize("who", [Duty.VISITOR, Duty.SET_COSTUMER])
def test_values_are_for_those_who_may_see_them(who: Duty, demo_world: DemoWorld, as_user: As) -> None:
    assert "EUR" in page(as_user(demo_world.cast.production), "LHS-0114")
    assert "EUR" not in page(as_user(demo_world.cast.of(who)), "LHS-0114")


def test_a_visitor_reads_no_history_and_no_holds(demo_world: DemoWorld, as_user: As) -> None:
    text = page(as_user(demo_world.cast.visitor), "LHS-0114")
    assert "History" not in text
    assert "H-02" not in text


def test_another_spelling_leads_to_the_one_address(demo_world: DemoWorld, as_user: As) -> None:
    answer = as_user(demo_world.cast.archivist).get("/pieces/lhs-0114/")
    assert answer["Location"] == "/pieces/LHS-0114/"


def test_every_piece_has_a_page(demo_world: DemoWorld, as_user: As) -> None:
    """One of each kind, and the few without role, slot or value."""
    client = as_user(demo_world.cast.archivist)
    one_of_each = {piece.kind: piece.number for piece in Piece.objects.order_by("-number")}
    bare = Piece.objects.filter(role=None).values_list("number", flat=True)
    numbers = {*one_of_each.values(), *bare}
    assert len(numbers) > 10
    assert [number for number in sorted(numbers) if number not in page(client, number)] == []


def test_a_fixed_number_of_queries(demo_world: DemoWorld, as_user: As, django_assert_max_num_queries: Any) -> None:
    with django_assert_max_num_queries(71):
        page(as_user(demo_world.cast.archivist), "LHS-0114")
