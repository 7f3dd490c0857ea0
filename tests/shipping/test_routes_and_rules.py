"""The route of a call, rules of the house on top of the starting set, and answers judged again."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from catalog.care.actions import record_wild_part
from catalog.care.calc.wild import GROUPS, LISTINGS
from catalog.care.models import WildPart
from catalog.core import history
from catalog.core.errors import NotAllowed, Refused
from catalog.loans.actions import hold
from catalog.shipping.actions import keep_verdicts
from catalog.shipping.calc.facts import Mode, Trip
from catalog.shipping.calc.routes import Route as Way
from catalog.shipping.calc.routes import trip_along
from catalog.shipping.calc.rules import rule_from_json
from catalog.shipping.models import Route, RuleRow, Verdict
from catalog.shipping.queries import judge_pieces, pieces_to_judge, rule_book, trip_of, way_of
from catalog.shipping.replay_queries import moments, replayed
from catalog.shipping.route_actions import set_route
from catalog.shipping.rule_actions import drop_rule, keep_rule
from tests.demo_world import DemoWorld
from tests.reading import text_of

As = Callable[[Any], Client]


@pytest.fixture
def long_since(demo_world: DemoWorld) -> None:
    """The starting set was in force before the day of the story; the loading of the invented archive takes a while."""
    RuleRow.objects.update(since=datetime(2026, 7, 1, tzinfo=UTC))


COAT = "LHS-0117"


def said(number: str, trip: Trip, mode: Mode = Mode.ROAD) -> Any:
    return judge_pieces(pieces_to_judge([number]), trip)[0].by_mode[mode]


def house_rule(code: str = "NO-WOOL", version: int = 1, **facts: Any) -> Any:
    row = {
        "code": code, "version": version, "trigger": {"all": [{"material": ["wool"]}]}, "modes": ["road"],
        "verdict": "stays", "reason": "Moth season: wool stays.", "condition": "", "papers": [],
        "source": "House rule of the archive", "edition": "", "jurisdiction": "house", "confidence": "H",
        "checked_on": None,
    }  # fmt: skip
    return rule_from_json(row | facts)


def test_the_words_of_the_table_are_those_of_the_rules() -> None:
    assert tuple(WildPart.Group.values) == GROUPS
    assert tuple(WildPart.Listing.values) == LISTINGS


def test_a_route_is_kept_once_with_its_line_and_answers_for_the_call(demo_world: DemoWorld) -> None:
    by, call = demo_world.cast.production, demo_world.call
    assert (way_of(call), trip_of(call).crosses_border) == (None, None)
    set_route(by=by, call=call, start="GB", goal="ES", through=["FR"], comes_back=True, wood="none")
    set_route(by=by, call=call, start="GB", goal="ES", through=["FR"], comes_back=True, wood="none")
    assert way_of(call) == Way("GB", "ES", ("FR",), True, "none")
    assert trip_of(call).customs_border is True
    told = [line for line in history.lines_of(call.subject) if line.verb == "said the route"]
    assert [line.after["route"] for line in told] == ["GB to FR to ES"]


def test_what_is_no_country_is_refused_by_action_and_database(demo_world: DemoWorld) -> None:
    by, call = demo_world.cast.production, demo_world.call
    with pytest.raises(Refused, match="two letters"):
        set_route(by=by, call=call, start="GB", goal="England")
    with pytest.raises(IntegrityError), transaction.atomic():
        Route.objects.create(call=call, start="gb", goal="FR")
    with pytest.raises(NotAllowed):
        set_route(by=demo_world.cast.visitor, call=call, start="GB", goal="FR")


def test_a_named_part_asks_the_permit_office_and_leaves_with_its_part(demo_world: DemoWorld) -> None:
    by, piece = demo_world.cast.archivist, demo_world.piece(COAT)
    abroad = trip_along(Way("GB", "FR", (), True, "none"), to_be_worn=True)
    assert said(COAT, abroad).verdict == "may"
    part = record_wild_part(by=by, piece=piece, what="tortoiseshell button")
    assert said(COAT, abroad).verdict == "unknown"
    record_wild_part(by=by, piece=piece, part=part, group="sea turtle", listing="I", named_by="permit office")
    assert said(COAT, abroad).verdict == "specialist"
    record_wild_part(by=by, piece=piece, part=part, gone_on=demo_world.today)
    assert said(COAT, abroad).verdict == "may"
    with pytest.raises(Refused, match="who named"):
        record_wild_part(by=by, piece=piece, group="seal", listing="none")


def test_what_another_job_holds_on_these_days_stays(demo_world: DemoWorld) -> None:
    call, by = demo_world.call, demo_world.cast.archivist
    piece = demo_world.piece(COAT)

    def road() -> Any:
        return judge_pieces(pieces_to_judge([COAT]), trip_of(call), call)[0].by_mode[Mode.ROAD]

    assert road().verdict == "may"
    hold(
        by=by, reference="X-9", for_whom="a museum", pieces=[piece], use_from=call.first_day, use_to=call.last_day,
        strength="firm", confirmed_by="registrar",
    )  # fmt: skip
    assert road().verdict == "stays"
    assert "promised elsewhere" in road().reasons[0].text


def test_a_rule_of_the_house_stands_beside_the_starting_set_until_it_is_dropped(demo_world: DemoWorld) -> None:
    by = demo_world.cast.archivist
    keep_rule(by=by, rule=house_rule(), origin="house")
    assert said(COAT, Trip()).verdict == "stays"
    with pytest.raises(Refused, match="Say why"):
        drop_rule(by=by, code="NO-WOOL", reason=" ")
    drop_rule(by=by, code="NO-WOOL", reason="the season is over")
    assert said(COAT, Trip()).verdict == "may"
    with pytest.raises(Refused, match="no rule of the house"):
        drop_rule(by=by, code="RADIUM-STAYS", reason="never")
    assert RuleRow.objects.get(code="NO-WOOL").until is not None
    with pytest.raises(Refused, match="choose another code"):
        keep_rule(by=by, rule=house_rule(), origin="house")


def test_a_rule_that_stands_for_another_says_why_and_leaves_it_to_be_read(demo_world: DemoWorld) -> None:
    by, gun = demo_world.cast.archivist, house_rule("LEAD-HERE", trigger={"hazard.lead": "suspected"})
    with pytest.raises(Refused, match="does not hold here"):
        keep_rule(by=by, rule=gun, origin="house", replaces="LEAD-HANDLING")
    with pytest.raises(Refused, match="no rule NO-SUCH"):
        keep_rule(by=by, rule=gun, origin="house", replaces="NO-SUCH", reason="x")
    with pytest.raises(Refused, match="starting set"):
        keep_rule(by=by, rule=house_rule("LEAD-HANDLING", 2), origin="house")
    keep_rule(by=by, rule=gun, origin="house", replaces="LEAD-HANDLING", reason="our belts are sealed")
    codes = {rule.code for rule in rule_book().rules}
    assert "LEAD-HERE" in codes
    assert "LEAD-HANDLING" not in codes
    assert RuleRow.objects.get(code="LEAD-HANDLING").active
    with pytest.raises(IntegrityError), transaction.atomic():
        RuleRow.objects.filter(code="RADIUM-STAYS").update(replaces="LEAD-HANDLING")


def test_kept_answers_are_made_again_by_the_rules_of_their_day(demo_world: DemoWorld, long_since: None) -> None:
    by, call = demo_world.cast.archivist, demo_world.call
    answers = judge_pieces(pieces_to_judge([COAT, "LHS-0111", "LHS-0108", "TTR-0029"]), trip_of(call), call)
    assert keep_verdicts(by=by, call=call, answers=answers) == 20
    keep_rule(by=by, rule=house_rule(), origin="house")
    [moment] = moments(call)
    again = replayed(call, moment["made_at"])
    assert [row.holds for row in again] == [True] * 20
    assert [(row.number, str(row.mode), str(row.now)) for row in again if row.changed] == [(COAT, "road", "stays")]
    Verdict.objects.filter(piece__number=COAT, mode="road").update(verdict="conditions")
    assert [row.number for row in replayed(call, moment["made_at"]) if row.holds is False] == [COAT]


def test_judging_again_takes_a_fixed_number_of_queries(
    demo_world: DemoWorld, django_assert_max_num_queries: Any
) -> None:
    call = demo_world.call
    for numbers in ([COAT], [COAT, "LHS-0111", "LHS-0108", "TTR-0029"]):
        keep_verdicts(
            by=demo_world.cast.archivist, call=call, answers=judge_pieces(pieces_to_judge(numbers), trip_of(call), call)
        )
    for moment in moments(call):
        with django_assert_max_num_queries(8):
            replayed(call, moment["made_at"])


# --- pages
def test_the_route_page_keeps_what_was_typed_and_the_travel_page_says_what_borders_ask(
    demo_world: DemoWorld, as_user: As
) -> None:
    client, call = as_user(demo_world.cast.production), demo_world.call
    travel = f"/calls/{call}/travel/"
    assert "Nobody has said which countries" in text_of(client.get(travel))
    typed = {"start": "GB", "goal": "ES", "through": "France, Atlantis", "comes_back": "yes", "wood": "none"}
    answer = client.post(f"/calls/{call}/route/", typed)
    assert answer.status_code == 422
    assert "“Atlantis” is no country" in answer.content.decode()
    assert 'value="France, Atlantis"' in answer.content.decode()
    assert client.post(f"/calls/{call}/route/", typed | {"through": "France"}).status_code == 302
    page = text_of(client.get(travel))
    assert "GB to FR to ES" in page
    assert "temporary-export list" in page


def test_pieces_that_may_go_are_no_yes_while_the_journey_is_open(demo_world: DemoWorld, as_user: As) -> None:
    client, call = as_user(demo_world.cast.production), demo_world.call
    hold(
        by=demo_world.cast.archivist, reference="X-8", for_whom="unit", pieces=[demo_world.piece(COAT)], call=call,
        use_from=call.first_day, use_to=call.last_day, strength="firm", confirmed_by="line producer",
    )  # fmt: skip
    travel = f"/calls/{call}/travel/"
    assert "none stays, but what borders ask is not settled" in text_of(client.get(travel))
    set_route(by=demo_world.cast.production, call=call, start="GB", goal="GB")
    assert "All 1 piece may go" in text_of(client.get(travel))


def test_may_it_go_there_answers_without_keeping(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.production)
    assert client.get("/travel/ask/").status_code == 200
    asked = {"pieces": "lhs-0117, LHS-0111", "start": "GB", "goal": "FR", "comes_back": "yes", "wood": "none"}
    page = text_of(client.get("/travel/ask/", asked))
    assert "1 of 2 pieces may go every way" in page
    assert "a damaged or swollen pack" in page.lower()
    assert "LHS-0117 may go by road" in text_of(client.get("/travel/ask/", asked | {"pieces": COAT, "way": "road"}))
    open_route = asked | {"pieces": COAT, "comes_back": ""}
    assert "Not yet: what borders ask" in text_of(client.get("/travel/ask/", open_route))
    unmarked = asked | {"pieces": COAT, "wood": "unmarked"}
    assert "Not yet: what borders ask" in text_of(client.get("/travel/ask/", unmarked))
    wrong = client.get("/travel/ask/", asked | {"pieces": "LHS-9999"})
    assert wrong.status_code == 422
    assert "There is no piece LHS-9999" in text_of(wrong)
    assert Verdict.objects.count() == 0


def test_a_rule_is_typed_changed_and_dropped_on_pages(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.archivist)
    typed = {
        "code": "no-spray", "ways": ["road"], "verdict": "stays", "reason": "Wool stays.", "source": "House rule",
        "condition": "", "papers": "", "materials": "", "kind": "", "hazard": "", "heavier": "", "enters": "",
        "leaves": "", "replaces": "", "why": "",
    }  # fmt: skip
    nothing = client.post("/travel/rules/ours/", typed)
    assert nothing.status_code == 422
    assert "at least one of the conditions" in text_of(nothing)
    assert client.post("/travel/rules/ours/", typed | {"materials": "wool, felt", "enters": "FR"}).status_code == 302
    row = RuleRow.objects.get(code="NO-SPRAY")
    assert row.trigger == {"all": [{"material": ["wool", "felt"]}, {"trip.enters": ["FR"]}]}
    page = client.get("/travel/rules/NO-SPRAY/change/").content.decode()
    assert 'value="wool, felt"' in page
    changed = typed | {"materials": "wool", "reason": "Wool stays for now."}
    assert client.post("/travel/rules/NO-SPRAY/change/", changed).status_code == 302
    assert "Wool stays for now." in text_of(client.get("/travel/rules/"))
    assert client.post("/travel/rules/NO-SPRAY/drop/", {"reason": "over"}).status_code == 302
    assert client.get("/travel/rules/NO-SPRAY/change/").status_code == 404
    assert "older version" in text_of(client.get("/travel/rules/"))


def test_an_answer_kept_is_shown_again(demo_world: DemoWorld, as_user: As, long_since: None) -> None:
    client, call = as_user(demo_world.cast.production), demo_world.call
    assert "No travel answer was kept" in text_of(client.get(f"/calls/{call}/travel/kept/"))
    client.post(f"/calls/{call}/travel/keep/")
    page = text_of(client.get(f"/calls/{call}/travel/kept/"))
    assert "made again from their own facts" in page
    assert "not made again" not in page


def test_an_animal_or_plant_is_noted_on_its_page(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.archivist)
    url = f"/care/{COAT}/animal-or-plant/"
    empty = client.post(url, {"what": ""})
    assert empty.status_code == 422
    assert client.post(url, {"what": "horn button", "group": "other animal", "farmed": "yes"}).status_code == 302
    [part] = WildPart.objects.all()
    assert (part.farmed, part.listing) == (True, "")
    assert "horn button" in text_of(client.get(f"/pieces/{COAT}/"))


@pytest.mark.parametrize("who", ["visitor", "set_costumer"])
def test_the_wrong_role_and_the_stranger(who: str, demo_world: DemoWorld, as_user: As) -> None:
    call = demo_world.call
    urls = [f"/calls/{call}/route/", f"/calls/{call}/travel/kept/", "/travel/ask/", "/travel/rules/ours/"]
    for url in [*urls, f"/care/{COAT}/animal-or-plant/"]:
        assert as_user(getattr(demo_world.cast, who)).get(url).status_code == 403
        assert "/sign-in/" in as_user(None).get(url)["Location"]
