"""A trunk that is not found: what its page says first, worked out from the rows."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
import time_machine
from django.test import Client

from catalog.access.duties import Duty
from catalog.storage import actions, place_queries
from catalog.storage.calc.misread import likely_readings
from catalog.storage.models import Move
from catalog.storage.search_queries import cause_of, search_for
from tests.demo_world import DemoWorld
from tests.storage.world import Store

As = Callable[[Any], Client]
LEAK = "roof leak: taken out, destination not written"


@pytest.mark.parametrize(
    ("code", "likely"), [("T14", ["T41", "T74"]), ("A1B", ["A7B", "A18"]), ("T11", ["T71", "T17"])]
)
def test_likely_readings_swap_or_look_alike_and_keep_the_shape(code: str, likely: list[str]) -> None:
    found = likely_readings(code)
    for text in likely:
        assert (text in found) == ([c.isdecimal() for c in text] == [c.isdecimal() for c in code]), text
    assert "T15" not in found
    assert code not in found


@pytest.mark.parametrize(
    ("reason", "cause"), [(LEAK, "roof leak"), ("audit", "audit"), ("", ""), ("flood, ground floor", "flood")]
)
def test_the_cause_is_the_first_clause(reason: str, cause: str) -> None:
    assert cause_of(reason) == cause


def test_the_page_of_the_lost_trunk_says_it_all(demo_world: DemoWorld, as_user: As) -> None:
    page = as_user(demo_world.cast.archivist).get("/storage/T14/").content.decode().replace("\u00a0", " ")
    assert "Trunk T14 is not found, with 7 pieces in it; last surely seen 6 Mar 2019 at TB-H1-2." in page
    for told in (
        f"by assistant C: {LEAK}",
        "written nowhere",
        "missed on 14 Oct 2024",
        "EUR 5,850",
        "label that reads T41",
        "2 things went there on 6 Mar 2019 (roof leak)",
    ):
        assert told in page, told
    for number in ("LHS-0035", "LHS-0038", "LHS-0049", "LHS-0064", "LHS-0066", "LHS-0067", "LHS-0076"):
        assert number in page
    assert page.index("Where to look first") < page.index("What is in it")


@pytest.mark.parametrize(("who", "sees"), [(Duty.PRODUCTION, True), (Duty.SET_COSTUMER, False), (Duty.VISITOR, False)])
def test_values_are_for_those_who_may_see_them(who: Duty, sees: bool, demo_world: DemoWorld, as_user: As) -> None:
    page = as_user(demo_world.cast.of(who)).get("/storage/T14/").content.decode()
    assert ("EUR" in page) == sees
    assert ("Where to look first" in page) == (who != Duty.VISITOR)


@pytest.fixture
def lost(store: Store) -> Iterator[Store]:
    """BOX1 went in a leak; so did two other things that day, and one for the same reason a month later."""
    with time_machine.travel("2031-09-01 09:00Z", tick=False):
        yield _lose(store)


def _lose(store: Store) -> Store:
    by = store.cast.archivist
    for number in ("N-0001", "N-0002", "N-0003", "N-0004"):
        store.piece(number, "MAIN-10-1")
    store.place("SHED", "room", "SITE")
    store.place("OBX1", "trunk", "DOCKS")

    def move(number: str, to: str, when: datetime, reason: str) -> None:
        piece = store.production.pieces.get(number=number)
        actions.move_piece(by=by, piece=piece, to=store[to], happened=when, reason=reason)

    day = datetime(2031, 3, 6, 10, tzinfo=UTC)
    move("N-0001", "SHED", day, "wet")
    move("N-0002", "SHED", day.replace(hour=15), "roof leak: dried")
    move("N-0003", "CAGE", day.replace(month=4), "Roof leak, second look")
    move("N-0004", "MAIN-2-1", day.replace(month=8), "tidied")
    actions.move_container(by=by, container=store["BOX1"], to=None, happened=day.replace(hour=16), reason=LEAK)
    return store


def looks(store: Store) -> list[tuple[str, set[str]]]:
    found = search_for(store["BOX1"], place_queries.open_file(store["BOX1"]))
    return [(look.place.code, {reason.source for reason in look.ranked.reasons}) for look in found.looks]


def test_where_things_went_that_day_or_for_that_reason_comes_before_its_old_place(lost: Store) -> None:
    # Two went to the shed that day, one to the cage for the same reason; what was tidied in August says nothing.
    codes = [code for code, _ in looks(lost)]
    why = dict(looks(lost))
    assert codes[0] == "SHED"
    assert codes.index("CAGE") < codes.index("MAIN-2-1")
    assert "same days" in why["SHED"] & why["CAGE"]
    assert "same days" not in why["MAIN-2-1"]
    assert "alike" in why["OBX1"]


def test_a_move_that_was_taken_back_says_nothing(lost: Store) -> None:
    """The cage was a slip of the scanner, and going back to the shelf is no way things went either."""
    slip = Move.objects.get(to_place=lost["CAGE"], piece__number="N-0003")
    Move.objects.create(
        piece=slip.piece, from_place=slip.to_place, to_place=lost["MAIN-10-1"], happened=slip.happened, undoes=slip,
        by=lost.cast.archivist, by_name="archivist", reason=slip.reason,
    )  # fmt: skip
    why = dict(looks(lost))
    assert "same days" not in why.get("CAGE", set())
    assert "same days" not in why.get("MAIN-10-1", set())
    assert "same days" in why["SHED"]


def test_the_reasons_are_said_and_a_code_that_reads_alike_is_named(lost: Store, as_user: As) -> None:
    page = as_user(lost.cast.archivist).get("/storage/BOX1/").content.decode().replace("\u00a0", " ")
    assert "2 things went there on 6 Mar 2031 (roof leak)" in page
    assert "1 thing went there on 6 Apr 2031 (roof leak)" in page
    assert "its code reads like BOX1" in page
    assert "2 pieces not valued, in no sum" in page
    assert "no value" in page


def test_the_search_takes_the_same_queries_however_much_moved(lost: Store, django_assert_max_num_queries: Any) -> None:
    with django_assert_max_num_queries(24) as few:
        looks(lost)
    for number in range(20):
        piece = lost.piece(f"Q-{number:04d}", "MAIN-10-1")
        to, when = lost["SHED"], datetime(2031, 3, 6, 11, tzinfo=UTC)
        actions.move_piece(by=lost.cast.archivist, piece=piece, to=to, happened=when)
    with django_assert_max_num_queries(24) as many:
        looks(lost)
    assert len(few) == len(many)
