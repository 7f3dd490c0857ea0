"""The picture of holds along time: right days, the same in words, and no more questions for more pieces."""

import re
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.loans import actions
from catalog.loans.along_queries import most_at_once
from catalog.pieces.models import OutfitSet, Piece
from tests.cast import Cast
from tests.loans.world import Stage, make_piece, make_stage
from tests.reading import text_of

AsUser = Callable[[Any], Client]
DAY = date(2031, 6, 10)
ADDRESS = "loans:along_time"


@pytest.fixture(autouse=True)
def _on_the_day():
    with time_machine.travel("2031-06-01 09:00Z", tick=False):
        yield


@pytest.fixture
def stage(db: None) -> Stage:
    return make_stage()


def hold(cast: Cast, reference: str, pieces: list[Piece], start: date = DAY, **more: Any) -> None:
    facts = {"strength": "firm", "confirmed_by": "A. Producer", "days_before": 2, "days_after": 3}
    actions.hold(
        by=cast.production, reference=reference, for_whom=f"job {reference}", pieces=pieces, use_from=start,
        use_to=start + timedelta(days=2), **(facts | more),
    )  # fmt: skip


def shown(client: Client, **asked: str) -> str:
    answer = client.get(reverse(ADDRESS), asked)
    assert answer.status_code == 200
    return text_of(answer)


def test_a_piece_a_set_and_a_role(cast: Cast, stage: Stage, as_user: AsUser) -> None:
    outfit = OutfitSet.objects.create(role=stage.piper, code="SET-1")
    Piece.objects.filter(pk__in=[stage.coat.pk, stage.boots[0].pk]).update(set=outfit)
    hold(cast, "A-1", stage.coats[:2])
    hold(cast, "P-1", [stage.boots[0]], strength="pencil", confirmed_by="", lapses_on=date(2031, 6, 9))
    client = as_user(cast.production)
    page = shown(client, of="moor-0001")
    assert "MOOR-0001 is held on some of these days." in page
    assert page.count("<rect") == 3, "prep, use, quarantine"
    assert "8 Jun to 15 Jun 2031" in page
    assert "10 Jun to 12 Jun 2031" in page
    page = shown(client, of="set-1")
    assert "At least 1 of 2 pieces are free on every one of these days." in page
    assert "P-1" in page
    page = shown(client, of="Piper")
    assert "At least 3 of 5 pieces are free on every one of these days." in page
    assert "Nothing is held or pencilled" in shown(client, of="MOOR-0003")


def test_the_bands_lie_on_their_days(cast: Cast, stage: Stage, as_user: AsUser) -> None:
    """The drawing is read back: a day is as wide as another, and each band begins and ends on its day."""
    hold(cast, "A-1", [stage.coat])
    page = shown(as_user(cast.production), of="MOOR-0001", first="2031-06-01", last="2031-06-30")
    step = (820 - 150) / 30
    moves = [float(x) for x in re.findall(r'<g transform="translate\(([\d.]+) ', page)]
    widths = [float(x) for x in re.findall(r'<rect class="[^"]*" width="([\d.]+)"', page)]
    assert moves == pytest.approx([150 + 7 * step, 150 + 9 * step, 150 + 12 * step], abs=0.1)
    assert widths == pytest.approx([2 * step, 3 * step, 3 * step], abs=0.1)


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ({"of": ""}, "Name a piece, a set or a role."),
        ({"of": "nothing"}, "No piece, set or role is called nothing."),
        ({"of": "MOOR-0001", "first": "2031-06-10", "last": "2031-06-09"}, "The last day comes on or after the first"),
        ({"of": "MOOR-0001", "first": "2031-06-10", "last": "2039-06-09"}, "Ask for at most 400 days"),
    ],
)
def test_bad_input(cast: Cast, stage: Stage, as_user: AsUser, asked: dict[str, str], sentence: str) -> None:
    answer = as_user(cast.production).get(reverse(ADDRESS), asked)
    assert answer.status_code == 422
    assert sentence in text_of(answer)


def test_many_pieces_ask_as_much_as_few(cast: Cast, stage: Stage, as_user: AsUser) -> None:
    client, slot = as_user(cast.production), stage.coat.slot
    assert slot is not None
    counts = []
    for turn in range(2):
        if turn:
            hold(cast, "A-9", [make_piece(stage.production, stage.piper, slot, n) for n in range(100, 180)])
        with CaptureQueriesContext(connection) as asked:
            shown(client, of="Piper")
        counts.append(len(asked))
    assert counts[0] == counts[1] <= 16
    page = shown(client, of="Piper")
    assert "Only the first 60 pieces are shown and counted; 25 more are left out" in page


SPANS = st.lists(st.tuples(st.integers(0, 20), st.integers(0, 9)), max_size=8)


@given(SPANS, st.integers(0, 20), st.integers(0, 9))
@settings(max_examples=100)
def test_the_busiest_day_against_counting_each_day(spans: list[tuple[int, int]], start: int, more: int) -> None:
    rows = [(DAY + timedelta(days=a), DAY + timedelta(days=a + n)) for a, n in spans]
    within = (DAY + timedelta(days=start), DAY + timedelta(days=start + more))
    days = [within[0] + timedelta(days=n) for n in range(more + 1)]
    assert most_at_once(rows, within) == max(sum(first <= day <= last for first, last in rows) for day in days)
