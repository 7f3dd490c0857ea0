"""The piece's page for every standing and every wear decision: head, act, days and travel say one thing."""

import re
from collections.abc import Callable
from datetime import date
from itertools import product
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import strip_tags

from catalog.care import actions as care
from catalog.care.models import WearDecision
from catalog.pieces.models import Piece
from catalog.shipping.calc.facts import Trip
from catalog.shipping.calc.rules import rule_from_json
from catalog.shipping.queries import judge_pieces, pieces_to_judge
from catalog.shipping.rule_actions import keep_rule
from catalog.storage import actions as storage
from catalog.storage.models import Place, Standing
from tests.cast import Cast
from tests.pieces import world
from tests.shipping.calc.shipped import RAW

pytestmark = pytest.mark.django_db
As = Callable[[Any], Client]
DAY = date(2024, 5, 6)
DECISIONS = ("", *WearDecision.Decision.values)
STANDINGS = ("in store", "out", "at treatment", "not found", "not placed", "in quarantine", "under pest work", "both")
ACTS = {
    "in store": "Move it",
    "out": None,
    "at treatment": "Move it",
    "not found": "It was found",
    "not placed": "Say where it is",
    "in quarantine": "Release it from quarantine",
    "under pest work": "To its pest work",
    "both": "To its pest work",
}


def load_rules(cast: Cast, *starts: str) -> None:
    for row in RAW["rules"]:
        if row["code"].startswith(starts):
            keep_rule(by=cast.archivist, rule=rule_from_json(row))


@pytest.fixture
def shelf(cast: Cast) -> Place:
    return storage.add_place(by=cast.archivist, code="A-1", name="rack 1", kind="bay")


@pytest.fixture
def hat(cast: Cast) -> Piece:
    return world.piece(cast, world.production(cast), kind="hat", name="tall hat", materials=["silk"], weight_g=300)


def decide(cast: Cast, piece: Piece, decision: str) -> None:
    if decision:
        care.decide_wear(
            by=cast.archivist, piece=piece, decision=decision, decided_on=DAY, decided_by_name="Bo",
            limits="no rain", repair="new band", repair_days=2,
        )  # fmt: skip


def stand(cast: Cast, piece: Piece, standing: str, shelf: Place) -> None:
    """Bring the piece to its standing by the acts that lead there."""
    by = cast.archivist
    if standing != "not placed":
        storage.receive_piece(by=by, piece=piece, home=shelf)
    if standing == "out":
        storage.send_out(by=by, piece=piece, to=None, reason="to a show")
    elif standing == "at treatment":
        storage.take_to_treatment(by=by, piece=piece, to=None, reason="new band")
    elif standing == "not found":
        storage.mark_missing(by=by, piece=piece, note="not on its peg")
    if standing in {"in quarantine", "both"}:
        care.open_quarantine(by=by, piece=piece, opened_on=DAY, due_on=date(2024, 5, 20), reason="moth seen")
    if standing in {"under pest work", "both"}:
        work = care.need_treatment(by=by, piece=piece, what="freeze", days=14, day_kind="calendar")
        care.start_treatment(by=by, treatment=work, started_on=DAY)


def section(page: str, name: str) -> str:
    """The words of one section of the page."""
    found = re.search(rf'id="{name}-head".*?</section>', page, re.DOTALL)
    assert found, name
    return " ".join(strip_tags("<p " + found[0]).split())


@pytest.mark.parametrize(("standing", "decision"), list(product(STANDINGS, DECISIONS)))
def test_head_act_days_and_travel_agree(
    standing: str, decision: str, cast: Cast, hat: Piece, shelf: Place, as_user: As
) -> None:
    load_rules(cast, "WEAR-", "PEST-", "QUARANTINE-", "NOT-FOUND")
    decide(cast, hat, decision)
    stand(cast, hat, standing, shelf)
    answer = as_user(cast.archivist).get(reverse("desk:piece", args=[hat.number]))
    page, head, act = answer.content.decode(), answer.context["head"], answer.context["act"]
    assert (act["words"] if act else None) == ACTS[standing]
    assert page.count('class="act"') == (1 if act else 0)
    if act:
        assert as_user(cast.archivist).get(act["url"]).status_code == 200
    days, travel, where = section(page, "days"), section(page, "travel"), section(page, "where")
    free = standing == "in store"
    assert ("not free" not in days) is free
    assert ("may fly" in travel or "road only" in travel) is (
        standing in {"in store", "out"} and decision not in {"", "reference only", "not wearable"}
    )
    worn = decision in {"wear", "wear with limits", "wear after repair"}
    if standing == "not found":
        assert head.answer.startswith("Tall hat is missing, not found since")
        assert "Last surely seen" in page
        assert f"by {cast.archivist}" in head.lead
        assert "Not while it is missing" in travel
        assert "fly" not in travel
        assert "it is there" not in where
    elif standing in {"in quarantine", "both"}:
        assert head.answer.startswith("Tall hat: in quarantine until 20 May 2024")
        assert "Not while it is in quarantine" in travel
        assert ("once it is released" in head.lead) is worn
    elif standing == "under pest work":
        assert head.answer == "Tall hat: kept where it is, pest work is open."
        assert "The pest work “freeze” is under way, due 20 May 2024." in page
        assert "Not while pest work on it is open" in travel
    assert ("in store" in head.answer) is free
    if standing not in {"in store", "out", "not placed"} and worn:
        assert head.wear_note in section(page, "care"), "the wear section says that its word is not for now"
        assert "It may be worn." not in section(page, "care")


@pytest.mark.parametrize("standing", STANDINGS)
def test_nobody_is_offered_an_act_that_is_not_theirs(
    standing: str, cast: Cast, hat: Piece, shelf: Place, as_user: As
) -> None:
    stand(cast, hat, standing, shelf)
    for person in cast.everyone():
        client = as_user(person)
        act = client.get(reverse("desk:piece", args=[hat.number])).context["act"]
        if act:
            assert client.get(act["url"]).status_code == 200, (person, act)
    assert as_user(cast.visitor).get(reverse("desk:piece", args=[hat.number])).context["act"] is None


def test_a_missing_piece_is_nowhere_at_home(cast: Cast, hat: Piece, shelf: Place, as_user: As) -> None:
    """A piece lost with its trunk keeps the trunk as its place and its home, and is not there all the same."""
    trunk = storage.add_place(by=cast.archivist, code="TR-1", name="trunk 1", kind="trunk", parent=shelf, home=shelf)
    storage.receive_piece(by=cast.archivist, piece=hat, home=trunk)
    page = as_user(cast.archivist).get(f"/pieces/{hat.number}/").content.decode()
    assert "it is there" in page
    storage.mark_missing(by=cast.archivist, container=trunk, note="not in the bay")
    assert Standing.objects.get(piece=hat).home == Standing.objects.get(piece=hat).place
    page = as_user(cast.archivist).get(f"/pieces/{hat.number}/").content.decode()
    assert "it is there" not in page
    assert "Last known at" in page
    assert "It was lost with trunk 1 (TR-1)." in page


@pytest.mark.parametrize("rule", ["PEST-WORK-OPEN", "QUARANTINE-OPEN", "NOT-FOUND"])
def test_the_rule_of_the_house_flips_travel_both_ways(
    rule: str, cast: Cast, hat: Piece, shelf: Place, as_user: As
) -> None:
    """A house rule (confidence H): with the fact it stays by every way, without it the answer is as before."""

    def verdicts() -> set[str]:
        answer = judge_pieces(pieces_to_judge([hat.number]), Trip(to_be_worn=True, crosses_border=False))[0]
        return {found.verdict.value for found in answer.by_mode.values()}

    row = next(row for row in RAW["rules"] if row["code"] == rule)
    assert row["confidence"] == "H"
    load_rules(cast, rule)
    decide(cast, hat, "wear")
    storage.receive_piece(by=cast.archivist, piece=hat, home=shelf)
    assert verdicts() == {"may"}
    if rule == "NOT-FOUND":
        storage.mark_missing(by=cast.archivist, piece=hat, note="gone")
        assert verdicts() == {"stays"}
        storage.mark_found(by=cast.archivist, piece=hat, at=shelf)
    elif rule == "QUARANTINE-OPEN":
        care.open_quarantine(by=cast.archivist, piece=hat, opened_on=DAY, due_on=DAY, reason="moth seen")
        assert verdicts() == {"stays"}
        care.release_quarantine(by=cast.archivist, piece=hat, released_on=DAY)
    else:
        work = care.need_treatment(by=cast.archivist, piece=hat, what="freeze")
        assert verdicts() == {"stays"}
        care.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)
        assert verdicts() == {"stays"}
        care.finish_treatment(by=cast.archivist, treatment=work, done_on=DAY)
    assert verdicts() == {"may"}


def test_today_tells_the_archivist_of_pest_work_with_its_day(cast: Cast, hat: Piece, as_user: As) -> None:
    work = care.need_treatment(by=cast.archivist, piece=hat, what="freeze", days=14, day_kind="calendar")
    reasons = as_user(cast.archivist).get("/").context["reasons"]
    assert "ABC-0001: the pest work “freeze” is ordered and has not begun." in [one["text"] for one in reasons]
    care.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)
    told = next(one for one in as_user(cast.archivist).get("/").context["reasons"] if "pest work" in one["text"])
    assert "due 20 May 2024: look it over and say that it is done." in told["text"]
    assert (told["mark"], told["url"]) == ("no", reverse("care:treatment", args=[hat.number]))
    assert not any("pest work" in one["text"] for one in as_user(cast.production).get("/").context["reasons"])
    care.call_off_treatment(by=cast.archivist, treatment=work, reason="no insects")
    assert not any("pest work" in one["text"] for one in as_user(cast.archivist).get("/").context["reasons"])
