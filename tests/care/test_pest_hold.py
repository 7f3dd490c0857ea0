"""Holding a piece against pests: the action and its page."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from catalog.care import actions
from catalog.care.queries import care_facts
from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.pieces import world
from tests.reading import text_of

pytestmark = pytest.mark.django_db
As = Callable[[Any], Client]
TODAY = date(2031, 6, 7)


@pytest.fixture(autouse=True)
def day() -> Any:
    with time_machine.travel("2031-06-07 08:00Z", tick=False) as clock:
        yield clock


@pytest.fixture
def wool(cast: Cast) -> Piece:
    return world.piece(cast, world.production(cast), kind="coat", name="Wool coat", materials=["wool"])


@pytest.fixture
def mask(cast: Cast) -> Piece:
    return world.piece(cast, world.production(cast), kind="hat", name="Mask", materials=["foam latex", "wool"])


def test_the_quarantine_lasts_as_long_as_the_hold(cast: Cast, wool: Piece, day: Any) -> None:
    actions.open_quarantine(by=cast.archivist, piece=wool, opened_on=TODAY, due_on=date(2031, 6, 10), reason="back")
    row = actions.hold_against_pests(by=cast.archivist, piece=wool, method="freeze20", started_on=TODAY)
    assert row.due_on == date(2031, 6, 21), "ten days, two for the core of what was not weighed, two to thaw"
    work = wool.treatments.get()
    assert (work.what, work.days, work.against_pests, work.state) == ("freeze at −20 °C, bagged", 14, True, "started")
    with pytest.raises(
        WrongState, match="may not be released from quarantine: the pest work “freeze at −20 °C, bagged”"
    ):
        actions.release_quarantine(by=cast.archivist, piece=wool, released_on=TODAY, findings="nothing")
    with pytest.raises(WrongState, match="has pest work open"):
        actions.hold_against_pests(by=cast.archivist, piece=wool, method="oxygen05", started_on=TODAY)
    with pytest.raises(
        Refused, match=r"runs until 21 Jun 2031: it is not done before\. If it was stopped, call it off"
    ):
        actions.finish_treatment(by=cast.archivist, treatment=work, done_on=TODAY)
    day.move_to("2031-06-21 08:00Z")
    actions.finish_treatment(by=cast.archivist, treatment=work, done_on=date(2031, 6, 21))
    actions.release_quarantine(by=cast.archivist, piece=wool, released_on=date(2031, 6, 21), findings="no insects")
    assert care_facts(wool)["quarantine"] is None


def test_a_longer_quarantine_is_not_shortened(cast: Cast, wool: Piece) -> None:
    late = date(2031, 8, 1)
    actions.open_quarantine(by=cast.archivist, piece=wool, opened_on=TODAY, due_on=late, reason="back")
    assert actions.hold_against_pests(by=cast.archivist, piece=wool, method="watch", started_on=TODAY).due_on == late
    assert not wool.treatments.exists(), "to look at it is no work on it"


def test_what_must_not_be_frozen_is_refused_and_nothing_is_kept(cast: Cast, mask: Piece) -> None:
    with pytest.raises(Refused, match="may not go through “freeze at −20 °C, bagged”: foam latex and rubber stiffen"):
        actions.hold_against_pests(by=cast.archivist, piece=mask, method="freeze20", started_on=TODAY)
    assert not mask.treatments.exists()
    assert not mask.quarantines.exists()
    assert actions.hold_against_pests(
        by=cast.archivist, piece=mask, method="oxygen05", started_on=TODAY
    ).due_on == date(2031, 6, 28)


def test_a_battery_in_it_keeps_it_from_the_cold_until_it_is_out(cast: Cast, wool: Piece) -> None:
    pack = actions.record_pack(by=cast.archivist, piece=wool, chemistry="dry", state="sound", placed="fitted")
    with pytest.raises(Refused, match="have the pack taken out first"):
        actions.hold_against_pests(by=cast.archivist, piece=wool, method="freeze20", started_on=TODAY)
    pack.removed_on = TODAY
    pack.save()
    actions.hold_against_pests(by=cast.archivist, piece=wool, method="freeze20", started_on=TODAY)


@pytest.mark.parametrize(
    ("method", "day_", "words"), [("boil", TODAY, "Choose how"), ("watch", date(2031, 6, 8), "still to come")]
)
def test_bad_input_is_a_sentence(cast: Cast, wool: Piece, method: str, day_: date, words: str) -> None:
    with pytest.raises(Refused, match=words):
        actions.hold_against_pests(by=cast.archivist, piece=wool, method=method, started_on=day_)


def test_who_may_not_decide_may_not_hold(cast: Cast, wool: Piece) -> None:
    with pytest.raises(NotAllowed):
        actions.hold_against_pests(by=cast.set_costumer, piece=wool, method="watch", started_on=TODAY)


def test_the_page_says_what_each_way_does_and_refuses_in_a_sentence(cast: Cast, mask: Piece, as_user: As) -> None:
    address = reverse("care:pest_hold", args=[mask.number])
    said = text_of(as_user(cast.archivist).get(address))
    assert "foam latex and rubber stiffen and crack in the cold" in said
    assert "dangerous to breathe" in said
    answer = as_user(cast.archivist).post(address, {"method": "freeze20", "started_on": "2031-06-07"})
    assert answer.status_code == 422
    assert "may not go through" in text_of(answer)
    assert as_user(cast.archivist).post(address, {"method": "watch", "started_on": "2031-06-07"}).status_code == 302
    assert mask.quarantines.get().due_on == date(2031, 6, 21)
