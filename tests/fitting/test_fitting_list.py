"""The fitting list of a call: page and table, by whom, with which wrong questions."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from catalog.fitting import actions
from catalog.fitting.queries import dry_run
from catalog.loans.models import Wearer
from tests.demo_world import DemoWorld
from tests.reading import text_of

SignIn = Callable[[Any], Client]
PAGE = "/fitting/calls/RS-2026-01/fittings/"
TABLE = "/fitting/calls/RS-2026-01/fittings.csv"


def test_everybody_planned_comes_once_with_every_slot(demo_world: DemoWorld, as_user: SignIn) -> None:
    page = as_user(demo_world.cast.wardrobe_lead).get(PAGE)
    run = dry_run(demo_world.call)
    found = page.context["found"]
    assert sorted(row.wearer.number for row in found.rows) == sorted({line.wearer for line in run.plan.assignments})
    assert "13 fittings on" in text_of(page)
    first = {(line.wearer, line.slot): line.piece for line in run.plan.assignments}
    assert {(r.wearer.number, rail.slot.code): rail.first for r in found.rows for rail in r.rails} == first


def test_spares_fit_and_nobody_else_is_planned_for_them(demo_world: DemoWorld, as_user: SignIn) -> None:
    found = as_user(demo_world.cast.wardrobe_lead).get(PAGE).context["found"]
    run = dry_run(demo_world.call)
    planned = {line.piece for line in run.plan.assignments}
    spares = [(row.wearer.number, spare) for row in found.rows for rail in row.rails for spare in rail.spares]
    assert len(spares) > 20
    for wearer, spare in spares:
        assert spare not in planned
        assert run.problem.fits[wearer, spare].probability


def test_the_kept_plan_is_followed(demo_world: DemoWorld, as_user: SignIn) -> None:
    lead = demo_world.cast.wardrobe_lead
    plan = actions.store_plan(by=lead, run=dry_run(demo_world.call, with_making=True))
    page = as_user(lead).get(PAGE)
    assert len(page.context["found"].rows) == plan.dressed == 20
    assert "to be made" in text_of(page)
    assert "From the plan kept" in text_of(page)


def test_no_size_stands_on_the_list(demo_world: DemoWorld, as_user: SignIn) -> None:
    words = text_of(as_user(demo_world.cast.wardrobe_lead).get(PAGE)).split('id="sheet"')[1].split("<footer")[0]
    assert " cm" not in words
    assert " kg" not in words


def test_whoever_comes_another_day_is_left_out(demo_world: DemoWorld, as_user: SignIn) -> None:
    client = as_user(demo_world.cast.wardrobe_lead)
    asked = {"day": "2026-08-25", "start": "10:00", "minutes": "30", "leave_out": ["E01", "E07"]}
    page = client.get(PAGE, asked)
    assert "11 fittings on Tue 25 Aug 2026, 10:00 to 15:30." in text_of(page)
    assert not {"E01", "E07"} & {row.wearer.number for row in page.context["found"].rows}


def test_the_table_says_the_same(demo_world: DemoWorld, as_user: SignIn) -> None:
    client = as_user(demo_world.cast.wardrobe_lead)
    found = client.get(PAGE).context["found"]
    answer = client.get(TABLE)
    lines = b"".join(answer.streaming_content).decode().splitlines()  # type: ignore[attr-defined]
    assert lines[0] == "day,time,performer,name,role,slot,first choice,spares,work first"
    assert len(lines) == 1 + sum(len(row.rails) for row in found.rows)


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"day": "", "start": "09:00", "minutes": "20"}, "day"),
        ({"day": "2026-08-25", "start": "9 o'clock", "minutes": "20"}, "start"),
        ({"day": "2026-08-25", "start": "09:00", "minutes": "0"}, "minutes"),
        ({"day": "2026-08-25", "start": "09:00", "minutes": "20", "leave_out": "E99"}, "leave_out"),
    ],
)
def test_a_wrong_question_is_told_at_the_field(
    demo_world: DemoWorld, as_user: SignIn, asked: dict[str, str], field: str
) -> None:
    client = as_user(demo_world.cast.wardrobe_lead)
    for address in (PAGE, TABLE):
        page = client.get(address, asked)
        assert page.status_code == 422
        assert field in page.context["form"].errors


def test_a_call_without_performers_says_what_to_do(demo_world: DemoWorld, as_user: SignIn) -> None:
    for wearer in Wearer.objects.filter(call=demo_world.call):
        wearer.sheets.all().delete()
        wearer.exclusions.all().delete()
        wearer.delete()
    page = as_user(demo_world.cast.wardrobe_lead).get(PAGE)
    assert "the call has no performers yet" in text_of(page)


def test_only_the_wardrobe_lead_makes_the_list(demo_world: DemoWorld, as_user: SignIn, client: Client) -> None:
    cast = demo_world.cast
    for address in (PAGE, TABLE):
        for person in (cast.archivist, cast.production, cast.set_costumer, cast.visitor):
            assert as_user(person).get(address).status_code == 403
        assert client.get(address).status_code in {302, 401}


def test_the_list_takes_a_fixed_number_of_queries(
    demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any
) -> None:
    with django_assert_max_num_queries(56):
        as_user(demo_world.cast.wardrobe_lead).get(PAGE)


def test_the_paper_foot_names_call_and_day(demo_world: DemoWorld, as_user: SignIn) -> None:
    page = as_user(demo_world.cast.wardrobe_lead).get(PAGE)
    foot = text_of(page).split("<footer")[1]
    day = page.context["found"].day
    assert f"{demo_world.call.reference}, fittings of {day:%a %-d %b %Y}" in foot
    assert PAGE in foot
