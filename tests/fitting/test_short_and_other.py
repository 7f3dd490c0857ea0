"""What is short, what to make and which other plans there are: pages of the wardrobe lead on the demo's rows."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.test import Client

from catalog.core.models import HistoryLine
from catalog.fitting.models import EaseBand
from catalog.fitting.queries import dry_run
from catalog.fitting.short_queries import short_of
from catalog.loans.models import CallNeed
from tests.demo_world import DemoWorld
from tests.reading import text_of

SignIn = Callable[[Any], Client]
SHORT = "/fitting/calls/RS-2026-01/short/"
OTHER = "/fitting/calls/RS-2026-01/other-plans/"


def test_sixteen_pieces_dress_twenty(demo_world: DemoWorld, as_user: SignIn) -> None:
    page = as_user(demo_world.cast.wardrobe_lead).get(SHORT)
    found = page.context["found"]
    assert "16 pieces to make dress 20 of 20 instead of 13." in text_of(page)
    assert [(row.slot.code, row.wearer.number) for row in found.make] == [
        (row.slot, row.wearer) for row in found.making.plan.make
    ]
    assert HistoryLine.objects.filter(verb="size sheets read", subject_id="RS-2026-01").exists()


def test_the_last_day_to_order_is_counted_back_in_working_days(demo_world: DemoWorld) -> None:
    """15 working days before Monday 14 September 2026 is Monday 24 August: the suit's wearer is measured by then."""
    found = short_of(demo_world.call)
    suit = next(row for row in found.make if row.slot.code == "suit")
    assert (suit.slot.make_days, suit.order_by, suit.late) == (15, date(2026, 8, 24), False)


def test_a_made_piece_would_fit_its_wearer(demo_world: DemoWorld) -> None:
    """Each best measure lies in what the bands allow; a point nobody taped is named and never guessed."""
    found = short_of(demo_world.call)
    for row in found.make:
        for _, value, low, high, missing, _ in row.measures:
            if value is None:
                assert missing or (low is not None and high is not None and low > high)
            else:
                assert low is None or low <= value
                assert high is None or value <= high
    assert any(row.measures for row in found.make)


def test_a_good_range_is_what_the_workroom_aims_at(demo_world: DemoWorld) -> None:
    EaseBand.objects.filter(slot__code="gloves").update(good_min=40, good_max=44)
    found = short_of(demo_world.call)
    gloves = next(row for row in found.make if row.slot.code == "gloves")
    hand = next(
        value.value_mm
        for sheet in gloves.wearer.sheets.exclude(layer="card")
        for value in sheet.values.all()
        if value.point == "hand_girth"
    )
    assert gloves.measures[0][1] == hand + 42


def test_nothing_short_is_said(demo_world: DemoWorld, as_user: SignIn) -> None:
    CallNeed.objects.exclude(role__code="KEE").delete()
    CallNeed.objects.filter(role__code="KEE").update(count=2)
    assert "Nothing is short" in text_of(as_user(demo_world.cast.wardrobe_lead).get(SHORT))


# --- other plans -----------------------------------------------------------------------------------------------------
def test_the_next_best_plans_differ_and_never_dress_more(demo_world: DemoWorld, as_user: SignIn) -> None:
    page = as_user(demo_world.cast.wardrobe_lead).get(OTHER)
    run, rows = page.context["run"], page.context["rows"]
    best = set(run.plan.assignments)
    assert [row.words for row in rows] == ["The next best plan", "The next best plan with other people"]
    for row in rows:
        assert set(row.alternative.plan.assignments) != best
        assert row.alternative.plan.total <= run.plan.total
    assert rows[1].comes_in
    assert rows[1].goes_out


def test_a_wish_is_worked_out_both_ways(demo_world: DemoWorld, as_user: SignIn) -> None:
    client = as_user(demo_world.cast.wardrobe_lead)
    run = dry_run(demo_world.call)
    worn = run.plan.assignments[0]
    without = client.get(OTHER, {"performer": worn.wearer.lower(), "piece": worn.piece}).context["rows"][0]
    assert without.words == f"Without {worn.piece} on {worn.wearer}"
    assert worn not in without.alternative.plan.assignments
    wearer, piece = next(
        pair
        for pair, fit in run.problem.fits.items()
        if fit.verdict == "yes" and (pair[0], pair[1]) not in {(x.wearer, x.piece) for x in run.plan.assignments}
    )
    with_it = client.get(OTHER, {"performer": wearer, "piece": piece}).context["rows"][0]
    assert with_it.words == f"With {piece} on {wearer}"
    assert with_it.alternative.kept == any(
        (line.wearer, line.piece) == (wearer, piece) for line in with_it.alternative.plan.assignments
    )


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ({"performer": "E01"}, "Name a performer and a piece, both."),
        ({"performer": "E99", "piece": "LHS-0001"}, "There is no performer E99"),
        ({"performer": "E01", "piece": "NIX-1"}, "NIX-1 is no piece that this call can use."),
        ({"performer": "E11", "piece": "LHS-0059"}, "not known to fit"),
    ],
)
def test_a_wish_that_cannot_be_is_told(
    demo_world: DemoWorld, as_user: SignIn, asked: dict[str, str], sentence: str
) -> None:
    page = as_user(demo_world.cast.wardrobe_lead).get(OTHER, asked)
    assert page.status_code == 422
    assert sentence in text_of(page)


def test_only_the_wardrobe_lead_sees_them(demo_world: DemoWorld, as_user: SignIn, client: Client) -> None:
    cast = demo_world.cast
    for address in (SHORT, OTHER):
        for person in (cast.archivist, cast.production, cast.set_costumer, cast.visitor):
            assert as_user(person).get(address).status_code == 403
        assert client.get(address).status_code in {302, 401}


def test_a_fixed_number_of_queries(demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any) -> None:
    client = as_user(demo_world.cast.wardrobe_lead)
    for address in (SHORT, OTHER):
        with django_assert_max_num_queries(56):
            client.get(address)
