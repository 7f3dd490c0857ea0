"""Whom can we dress? The page for production before casting, and with the call's performers for the wardrobe lead."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from catalog.core.models import HistoryLine
from catalog.fitting.calc.body import Shape
from catalog.fitting.calc.fit import Verdict
from catalog.fitting.models import SizeSheet
from catalog.fitting.queries import dry_run
from catalog.fitting.stock_queries import question_of
from catalog.fitting.who_queries import dress_map
from catalog.pieces.models import Piece, Role
from tests.demo_world import DemoWorld

SignIn = Callable[[Any], Client]
WHO = "/fitting/who/"
CALL = "/fitting/calls/RS-2026-01/who/"


def text_of(answer: Any) -> str:
    """The page's words with single blanks."""
    return " ".join(answer.content.decode().split())


def test_production_reads_the_map_and_nobody_on_it(demo_world: DemoWorld, as_user: SignIn) -> None:
    page = as_user(demo_world.cast.production).get(CALL)
    words = text_of(page)
    assert page.status_code == 200
    assert "can be dressed as Harbour Diver at once" in words
    assert "map-dot" not in words
    assert not page.context["found"].performers
    assert not any(wearer.name in words for wearer in demo_world.call.wearers.all() if wearer.name)


def test_the_wardrobe_lead_sees_the_performers_and_the_reading_is_told(demo_world: DemoWorld, as_user: SignIn) -> None:
    page = as_user(demo_world.cast.wardrobe_lead).get(CALL)
    found = page.context["found"]
    assert text_of(page).count('class="map-dot"') == len(found.performers) > 15
    told = HistoryLine.objects.filter(verb="size sheets read", subject_kind="call")
    assert told.filter(subject_id=demo_world.call.reference).exists()


def test_a_performer_counts_the_sets_that_their_own_dry_run_allows(demo_world: DemoWorld) -> None:
    """Whoever the planner may dress as a diver has an outfit here too, and the other way round."""
    role = Role.objects.get(code="DIV")
    found = dress_map(role, question_of(demo_world.call), shape=Shape.EITHER, call=demo_world.call)
    run = dry_run(demo_world.call)
    needed = set(next(role for role in run.problem.roles if role.code == "DIV").slots)
    able = set()
    for wearer in run.problem.wearers:
        slots = {
            piece.slot
            for piece in run.problem.pieces
            if piece.role == "DIV"
            and (fit := run.problem.fits.get((wearer.code, piece.code))) is not None
            and fit.verdict is Verdict.YES
        }
        if slots >= needed:
            able.add(wearer.code)
    assert {one.number for one in found.performers if one.outfits} <= able
    assert {line.wearer for line in run.plan.assignments if line.role == "DIV"} <= {
        one.number for one in found.performers if one.outfits
    }


def test_a_piece_lost_takes_its_outfits_along(demo_world: DemoWorld) -> None:
    """With every pair of gauntlets gone there is nothing left to offer anybody."""
    role, question = Role.objects.get(code="DIV"), question_of(demo_world.call)
    before = dress_map(role, question, shape=Shape.M)
    assert before.most > 0
    Piece.objects.filter(role=role, slot__code="gloves").update(slot=None)
    after = dress_map(role, question, shape=Shape.M)
    assert after.most == 0
    assert not any(point.chance for point in after.points if point.chance is not None)


def test_without_sheets_nobody_lies_on_the_map(demo_world: DemoWorld, as_user: SignIn) -> None:
    SizeSheet.objects.all().delete()
    page = as_user(demo_world.cast.wardrobe_lead).get(CALL)
    assert not page.context["found"].performers
    assert "Not on the map" in text_of(page)


def test_the_map_takes_a_fixed_number_of_queries(
    demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any
) -> None:
    with django_assert_max_num_queries(56):
        as_user(demo_world.cast.wardrobe_lead).get(CALL)


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ({"role": "NIX"}, "Role"),
        ({"first": "soon"}, "From"),
        ({"first": "2026-09-14", "last": "2026-09-01"}, "The last day comes on or after the first day."),
        ({"last": "2026-09-01"}, "Give the first day as well."),
    ],
)
def test_a_wrong_question_is_told_and_stays(
    demo_world: DemoWorld, as_user: SignIn, asked: dict[str, str], sentence: str
) -> None:
    page = as_user(demo_world.cast.archivist).get(WHO, asked)
    assert page.status_code == 422
    assert "Nothing was worked out" in text_of(page)
    assert sentence in text_of(page)


def test_the_wrong_duty_and_the_stranger_are_kept_out(demo_world: DemoWorld, as_user: SignIn, client: Client) -> None:
    for address in (WHO, CALL):
        assert as_user(demo_world.cast.visitor).get(address).status_code == 403
        assert as_user(demo_world.cast.set_costumer).get(address).status_code == 403
        assert client.get(address).status_code in {302, 401}
    assert as_user(demo_world.cast.production).get("/fitting/calls/NONE-1/who/").status_code == 404
