"""May it travel: the page, the JSON and the command give one answer, worked out from facts and never from a word."""

import io
import json
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from catalog.care.actions import find_hazard, record_pack
from catalog.desk.travel import travel_list
from catalog.fitting.actions import store_plan
from catalog.fitting.queries import dry_run
from catalog.loans.actions import hold
from catalog.pieces.models import Piece
from catalog.shipping.calc.facts import Mode, Trip
from catalog.shipping.models import RuleRow, Verdict
from catalog.shipping.queries import judge_pieces, pieces_to_judge
from tests.demo_world import DemoWorld

As = Callable[[Any], Client]
RESHOOT = Trip(to_be_worn=True)


SHOWN = Trip(to_be_worn=False)


def summary(number: str, trip: Trip = RESHOOT) -> str:
    return judge_pieces(pieces_to_judge([number]), trip)[0].summary.value


def road(number: str) -> str:
    return judge_pieces(pieces_to_judge([number]), RESHOOT)[0].by_mode[Mode.ROAD].verdict.value


# SCENARIO of the invented archive: the damaged pack and the radium gauges stay, the sound pack goes, old furs and felt
# wait for a test, a plain coat may go every way.
@pytest.mark.parametrize(
    ("number", "expected"),
    [
        ("LHS-0111", "stays"),
        ("LHS-0152", "stays"),
        ("LHS-0153", "stays"),
        ("TTR-0001", "stays"),
        ("TTR-0002", "stays"),
        ("NBR-0029", "stays"),
        ("LHS-0108", "may fly"),
        ("NBR-0033", "road only"),
        ("LHS-0117", "may fly"),
    ],
)
def test_the_invented_archive_gets_its_answers(number: str, expected: str, demo_world: DemoWorld) -> None:
    assert summary(number) == expected


def test_one_fact_flips_the_answer_both_ways(demo_world: DemoWorld) -> None:
    by, piece = demo_world.cast.archivist, demo_world.piece("LHS-0108")
    assert road("LHS-0108") == "conditions"
    pack = piece.packs.get()
    pack.state = "damaged"
    pack.save()
    assert road("LHS-0108") == "stays"
    pack.state = "sound"
    pack.save()
    assert road("LHS-0108") == "conditions"
    # The robe is not for wear whatever a test says, so it is asked for an exhibition.
    waiting = (("TTR-0001", ("old_poison", "protected_species"), SHOWN), ("NBR-0029", ("mercury",), RESHOOT))
    for number, hazards, trip in waiting:
        assert summary(number, trip) == "stays"
        for hazard in hazards:
            find_hazard(
                by=by,
                piece=demo_world.piece(number),
                hazard=hazard,
                state="cleared",
                found_on=date(2026, 7, 27),
                found_by_name="laboratory",
                note="XRF, five points, none found",
            )
        assert summary(number, trip) != "stays", number


def test_a_lamp_nobody_looked_into_is_unknown_until_somebody_does(demo_world: DemoWorld) -> None:
    assert road("LHS-0109") == "unknown"
    find_hazard(
        by=demo_world.cast.archivist,
        piece=demo_world.piece("LHS-0109"),
        hazard="battery",
        state="cleared",
        found_on=date(2026, 7, 27),
        found_by_name="archivist",
        note="opened: mains lead, no battery",
    )
    assert road("LHS-0109") in {"may", "conditions"}
    record_pack(by=demo_world.cast.archivist, piece=demo_world.piece("LHS-0110"), chemistry="lithium_ion")
    assert road("LHS-0110") == "unknown"


def test_without_rules_what_is_dangerous_is_unknown_and_never_a_yes(demo_world: DemoWorld) -> None:
    RuleRow.objects.update(active=False)
    assert summary("LHS-0111") == "stays"
    assert road("LHS-0111") == "unknown"


def test_the_list_is_of_the_hold_else_the_plan_else_the_dry_run(demo_world: DemoWorld) -> None:
    cast, call = demo_world.cast, demo_world.call
    assert travel_list(call).source == "the pieces of the dry run"
    run = dry_run(call)
    store_plan(by=cast.wardrobe_lead, run=run)
    found = travel_list(call)
    assert found.source == "the pieces of the kept plan"
    assert len(found.answers) == len(run.plan.assignments)
    pieces = list(Piece.objects.filter(number__in=["LHS-0003", "LHS-0004"]))
    hold(
        by=cast.production,
        reference="T-1",
        for_whom="unit",
        pieces=pieces,
        use_from=call.load_on,
        use_to=call.back_on,
        strength="firm",
        call=call,
        confirmed_by="line producer",
    )
    assert [answer.piece.number for answer in travel_list(call).answers] == ["LHS-0003", "LHS-0004"]


def test_page_json_and_command_agree(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.production)
    page = client.get(f"/calls/{demo_world.call}/travel/")
    rows = client.get(f"/calls/{demo_world.call}/travel.json").json()
    told = io.StringIO()
    call_command("travel", demo_world.call.reference, "--json", stdout=told)
    assert json.loads(told.getvalue()) == rows
    assert {"piece", "mode", "verdict", "reasons", "rules", "sources", "summary"} <= set(rows[0])
    assert page.context["stay"] == len({row["piece"] for row in rows if row["summary"] == "stays"})
    text = page.content.decode()
    assert "Unknown counts as stays" in text
    assert "they decide" in text


def test_kept_answers_carry_facts_and_rule_versions(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.production)
    answer = client.post(f"/calls/{demo_world.call}/travel/keep/")
    assert answer.status_code == 302
    kept = Verdict.objects.filter(piece__number="LHS-0108").first() or Verdict.objects.first()
    assert kept is not None
    assert kept.facts["number"] == kept.piece.number
    assert all("@" in rule for rule in kept.rules)
    assert "travel answers kept" in client.get(f"/calls/{demo_world.call}/").content.decode()


def test_who_may(demo_world: DemoWorld, as_user: As) -> None:
    url = f"/calls/{demo_world.call}/travel/"
    for user in (demo_world.cast.visitor, demo_world.cast.set_costumer):
        assert as_user(user).get(url).status_code == 403
    assert "/sign-in/" in as_user(None).get(url)["Location"]
    assert as_user(demo_world.cast.archivist).get("/calls/NO-SUCH/travel/").status_code == 404


def test_the_command_refuses_an_unknown_call(db: None) -> None:
    with pytest.raises(CommandError, match="There is no call"):
        call_command("travel", "NO-SUCH")


def test_judging_takes_a_fixed_number_of_queries(demo_world: DemoWorld, django_assert_max_num_queries: Any) -> None:
    numbers = list(Piece.objects.values_list("number", flat=True))
    with django_assert_max_num_queries(19) as few:
        judge_pieces(pieces_to_judge(numbers[:5]), RESHOOT)
    with django_assert_max_num_queries(19) as many:
        judge_pieces(pieces_to_judge(numbers), RESHOOT)
    assert len(few) == len(many)
