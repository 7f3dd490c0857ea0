"""Actions refuse the day of an event that lies ahead or impossibly far back, whoever calls them; closed days count."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from catalog.access.house_actions import put_setting
from catalog.access.models import User
from catalog.care import actions as care
from catalog.core import clock
from catalog.core.days import Kind, last_safe_start
from catalog.core.errors import Refused
from catalog.core.models import HistoryLine
from catalog.fitting.deadline_queries import deadlines
from catalog.fitting.queries import dry_run
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece
from catalog.storage import actions as storage
from tests.demo_world import DemoWorld

Act = Callable[[User, Piece, Any], object]


def noon(day: date) -> datetime:
    return timezone.make_aware(datetime(day.year, day.month, day.day, 12))


ACTS: dict[str, Act] = {
    "reported at": lambda by, p, day: care.report_condition(by=by, piece=p, grade=2, reported_at=noon(day)),
    "decided on": lambda by, p, day: care.decide_wear(
        by=by, piece=p, decision="wear", decided_on=day, decided_by_name="me"
    ),
    "found on": lambda by, p, day: care.find_hazard(
        by=by, piece=p, hazard="lead", state="suspected", found_on=day, found_by_name="me"
    ),
    "seen on": lambda by, p, day: care.record_pack(by=by, piece=p, seen_on=day),
    "removed on": lambda by, p, day: care.record_pack(by=by, piece=p, removed_on=day),
    "opened on": lambda by, p, day: care.open_quarantine(
        by=by, piece=p, opened_on=day, due_on=clock.today() + timedelta(days=9), reason="moth"
    ),
    "released on": lambda by, p, day: care.release_quarantine(by=by, piece=p, released_on=day),
    "started on": lambda by, p, day: care.start_treatment(
        by=by, treatment=care.need_treatment(by=by, piece=p, what="darn"), started_on=day
    ),
    "done on": lambda by, p, day: care.alter(by=by, piece=p, what="hem", done_on=day, done_by_name="me"),
    "taken on": lambda by, p, day: pieces.set_measure(by=by, piece=p, point="chest", value_mm=1000, taken_on=day),
    "valued on": lambda by, p, day: pieces.value_piece(by=by, piece=p, amount=5, currency="EUR", valued_on=day),
    "last seen": lambda by, p, day: storage.mark_missing(by=by, piece=p, note="gone", last_seen=day),
    "happened": lambda by, p, day: storage.mark_missing(by=by, piece=p, note="gone", happened=noon(day)),
}


@pytest.mark.parametrize("word", ACTS)
def test_an_action_refuses_a_day_on_which_nothing_can_have_happened(word: str, demo_world: DemoWorld) -> None:
    piece, lines = demo_world.piece("LHS-0001"), HistoryLine.objects.exclude(verb="treatment needed")
    before = lines.count()
    for day, why in ((clock.today() + timedelta(days=1), "still to come"), (date(1849, 12, 31), "too long ago")):
        with pytest.raises(Refused, match=why) as told:
            ACTS[word](demo_world.cast.archivist, piece, day)
        assert told.value.sentence.casefold().startswith(f"{word}: ")
        assert told.value.field == word.replace(" ", "_")
    assert lines.count() == before


def test_a_closed_day_moves_the_last_safe_days_of_a_call(demo_world: DemoWorld) -> None:
    before = {line.words: line.day for line in deadlines(dry_run(demo_world.call))}
    load = demo_world.call.load_on
    shut = [load - timedelta(days=n) for n in range(1, 8)]
    put_setting(by=demo_world.cast.archivist, key="house.closed_days", value=shut)
    run = dry_run(demo_world.call)
    after = {line.words: line.day for line in deadlines(run)}
    moved = {row.piece.number for row in run.work if row.work_day_kind is Kind.WORKING and row.work_days}
    assert moved
    for row in run.work:
        words = f"Start work on {row.piece.number}: {row.work}"
        if row.piece.number in moved:
            assert row.start_by == last_safe_start(load, row.work_days or 0, Kind.WORKING, frozenset(shut))
            assert after[words] < before.get(words, date.max)
        elif words in before:
            assert after[words] == before[words], "calendar days take no notice of a closed day"


def test_the_pages_say_how_holidays_are_counted(demo_world: DemoWorld, as_user: Callable[[Any], Any]) -> None:
    client, address = as_user(demo_world.cast.production), f"/fitting/calls/{demo_world.call.reference}/dry-run/"
    assert "Public holidays count as working days" in client.get(address).content.decode()
    put_setting(by=demo_world.cast.archivist, key="house.closed_days", value=["2026-12-25", "2026-12-26"])
    page = client.get(address).content.decode()
    assert "2 closed days are entered under House rules and left out" in page
