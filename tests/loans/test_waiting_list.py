"""Pencils wait in the order they were made: the next moves up when one lapses or is released, and it is told."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from catalog.core.history import lines_of
from catalog.loans import actions, waiting_queries
from catalog.loans.models import Hold
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.loans.world import Stage, make_call, make_stage
from tests.reading import text_of

AsUser = Callable[[Any], Client]
DAY = date(2031, 6, 10)


@pytest.fixture(autouse=True)
def _on_the_day():
    with time_machine.travel("2031-05-01 09:00Z", tick=False):
        yield


@pytest.fixture
def stage(db: None) -> Stage:
    return make_stage()


def hold(cast: Cast, reference: str, pieces: list[Piece], **more: Any) -> Hold:
    facts: dict[str, Any] = {"strength": "pencil", "days_before": 0, "days_after": 0, "use_from": DAY, "use_to": DAY}
    if more.get("strength") == "firm":
        more["confirmed_by"] = "A. Producer"
    return actions.hold(
        by=cast.production, reference=reference, for_whom=f"job {reference}", pieces=pieces, **(facts | more)
    )


def ranks(*holds: Hold) -> list[int]:
    found = waiting_queries.ranks_of(holds)
    return [found[one.pk] for one in holds]


def moved(held: Hold) -> list[tuple[object, str]]:
    return [(line.after["rank"], line.reason) for line in lines_of(held.subject) if line.verb == "moved up"]


def test_the_next_moves_up_when_the_first_is_released_and_is_told(cast: Cast, stage: Stage, as_user: AsUser) -> None:
    first, second, third = (hold(cast, f"P-{n}", stage.coats[:2]) for n in (1, 2, 3))
    apart = hold(cast, "P-4", stage.coats[2:])
    assert ranks(first, second, third, apart) == [1, 2, 3, 1]
    client = as_user(cast.production)
    page = text_of(client.get(reverse("loans:hold", args=["P-3"])))
    assert "third in line" in page
    assert "First pencil: " in page
    asked = {"pieces": [piece.pk for piece in stage.coats[:2]], "reason": "shoot moved"}
    answer = client.post(reverse("loans:release", args=["P-1"]), asked, follow=True)
    assert "Next in line: P-2 for job P-2." in text_of(answer)
    assert (moved(second), moved(third)) == ([(1, "P-1 was released")], [(2, "P-1 was released")])
    assert moved(apart) == []
    page = text_of(client.get(reverse("loans:hold", args=["P-2"])))
    assert "first in line" in page
    assert "Moved up: P-1 for job P-1 was released." in page
    assert "third pencil" not in text_of(client.get(reverse("loans:holds")))


def test_the_next_moves_up_when_the_first_lapses(cast: Cast, stage: Stage, as_user: AsUser) -> None:
    hold(cast, "P-1", [stage.coat], lapses_on=date(2031, 5, 10))
    second = hold(cast, "P-2", [stage.coat], lapses_on=date(2031, 6, 1))
    with time_machine.travel("2031-05-10 00:10Z", tick=False):
        # Nobody has written it down yet; the page knows all the same.
        page = text_of(as_user(cast.production).get(reverse("loans:hold", args=["P-2"])))
        assert "Moved up: P-1 for job P-1 lapsed on 10 May 2031." in page
        assert moved(second) == []
        actions.lapse_pencils(date(2031, 5, 10))
        assert moved(second) == [(1, "P-1 lapsed")]
        actions.lapse_pencils(date(2031, 5, 10))
        assert len(moved(second)) == 1


def test_who_waits_behind_a_firm_hold_is_listed_and_told(cast: Cast, stage: Stage, as_user: AsUser) -> None:
    held = hold(cast, "F-1", stage.coats, strength="firm")
    second = hold(cast, "P-2", [stage.coat])
    page = text_of(as_user(cast.production).get(reverse("loans:hold", args=["F-1"])))
    assert "Who waits behind it" in page
    assert "First pencil: " in page
    actions.release_hold(by=cast.production, hold=held, pieces=stage.coats[1:], reason="not these")
    assert moved(second) == [], "what was let go is not what it waits for"
    actions.release_hold(by=cast.production, hold=held, reason="called off")
    assert moved(second) == [(1, "F-1 was released")]


def test_one_calls_pencils_do_not_wait_for_each_other(cast: Cast, stage: Stage) -> None:
    call = make_call(cast.production, stage)
    one, two = (hold(cast, f"P-{n}", [stage.coat], call=call) for n in (1, 2))
    assert ranks(one, two) == [1, 1]
    actions.release_hold(by=cast.production, hold=one, reason="the other stands")
    assert moved(two) == []


def test_another_hold_in_the_line_asks_no_more(
    cast: Cast, stage: Stage, as_user: AsUser, django_assert_max_num_queries: Any
) -> None:
    first = hold(cast, "P-1", stage.coats)
    for n in range(2, 12):
        hold(cast, f"P-{n}", stage.coats)
    client = as_user(cast.production)
    for address in (reverse("loans:hold", args=[first.reference]), reverse("loans:holds")):
        with django_assert_max_num_queries(32):
            assert client.get(address).status_code == 200
