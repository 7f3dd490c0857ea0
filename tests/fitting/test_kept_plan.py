"""A kept plan keeps showing what is mended first and who is left out, and for which true reason to whom."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from catalog.fitting import actions
from catalog.fitting.kept_queries import kept_today
from catalog.fitting.models import Plan, SizeSheet
from catalog.fitting.queries import dry_run
from catalog.storage import actions as storage
from tests.demo_world import DemoWorld

SignIn = Callable[[Any], Client]
CALL = "/fitting/calls/RS-2026-01/"


def text_of(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


@pytest.fixture
def kept(demo_world: DemoWorld) -> Plan:
    """The plan as recorded, kept by the wardrobe lead."""
    return actions.store_plan(by=demo_world.cast.wardrobe_lead, run=dry_run(demo_world.call))


def test_the_left_out_and_the_mending_are_those_of_the_dry_run(demo_world: DemoWorld, kept: Plan) -> None:
    run, today = dry_run(demo_world.call), kept_today(kept)
    assert {row.wearer: row.reason for row in today.left_out} == {row.wearer: row.reason for row in run.plan.left_out}
    assert {row.piece.number for row in today.work} == {row.piece.number for row in run.work}
    assert today.work
    assert today.lost == ()


def test_the_lead_reads_the_true_reason_and_production_a_word(
    demo_world: DemoWorld, as_user: SignIn, kept: Plan, django_assert_max_num_queries: Any
) -> None:
    lead, production = as_user(demo_world.cast.wardrobe_lead), as_user(demo_world.cast.production)
    with django_assert_max_num_queries(70):
        page = lead.get(f"{CALL}plan/")
    for words in (text_of(page), text_of(lead.get(f"{CALL}dry-run/"))):
        assert "E14 Sibel Thorncroft: excluded, no wool contact" in words
        assert "E11 Davor Nkemelu: size" in words
        assert "E23 Levi Tamaro: dates" in words
        assert f'{CALL}why-not/?performer=E14"' in words
    assert "To be mended first, and when it has to start" in text_of(page)
    work = kept_today(kept).work[0]
    assert work.piece.number in text_of(page)
    for address in ("plan/", "dry-run/"):
        words = text_of(production.get(CALL + address))
        assert "E14 Sibel Thorncroft: size" in words
        assert "excluded" not in words
        assert "wool" not in words.lower()
        assert "why-not" not in words
        assert "Who competes" not in words
    told = production.get(f"{CALL}plan.json").json()
    assert {"performer": "E14", "reason": "size"} in told["left_out"]
    assert {row["reason"] for row in told["left_out"]} <= {"size", "dates", "piece missing"}
    assert work.piece.number in {row["piece"] for row in told["mend_first"]}
    table = as_user(demo_world.cast.set_costumer).get(f"{CALL}plan.csv")
    assert work.work in b"".join(table.streaming_content).decode()  # type: ignore[arg-type]


def test_a_planned_piece_that_is_lost_since_is_told(demo_world: DemoWorld, as_user: SignIn, kept: Plan) -> None:
    piece = kept.lines.filter(piece__isnull=False).order_by("piece__number")[0].piece
    assert piece is not None
    storage.mark_missing(by=demo_world.cast.archivist, piece=piece, note="not in its trunk")
    words = text_of(as_user(demo_world.cast.production).get(f"{CALL}plan/"))
    assert f"{piece.number}</a> cannot be used: Not found" in words


def test_who_could_be_dressed_since_is_told(demo_world: DemoWorld, as_user: SignIn, kept: Plan) -> None:
    storage.mark_found(
        by=demo_world.cast.archivist, container=demo_world.place("T14"), at=demo_world.place("WR-B4"), note="a bench"
    )
    words = text_of(as_user(demo_world.cast.production).get(f"{CALL}plan/"))
    assert "could be dressed now" in words


def test_after_the_sizes_are_gone_no_reason_is_made_up(demo_world: DemoWorld, as_user: SignIn, kept: Plan) -> None:
    actions.forget_sizes(today=demo_world.today, by=demo_world.cast.wardrobe_lead, call=demo_world.call)
    assert not SizeSheet.objects.exists()
    words = text_of(as_user(demo_world.cast.wardrobe_lead).get(f"{CALL}plan/"))
    assert "E14: not known" in words
    assert "No size of this performer is kept." in words
    assert "wool" not in words


def test_two_with_the_same_only_piece_are_named_to_the_lead(demo_world: DemoWorld, as_user: SignIn, kept: Plan) -> None:
    page = as_user(demo_world.cast.wardrobe_lead).get(f"{CALL}plan/")
    found = page.context["rivals"]
    assert found
    problem = kept_today(kept).problem
    for row in found:
        slot, numbers = row["slot"], [one.number for one in row["wearers"]]
        assert len(numbers) > 1
        stock = [p.code for p in problem.pieces if (p.role, p.slot) == (slot.role.code, slot.code)]
        for number in numbers:
            assert [code for code in stock if problem.fits[number, code].verdict == "yes"] == [row["piece"]]
    assert "have only one" in text_of(page)
