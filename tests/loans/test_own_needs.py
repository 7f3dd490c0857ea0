"""A piece that must be frozen or repaired first lengthens the buffer before its use.

Outside check: numpy's business days (`busday_offset`) count the working days backward by themselves.
"""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.care.calc.first_work import Work
from catalog.care.models import Treatment, WearDecision
from catalog.core.days import Kind
from catalog.loans.calc.buffers import begin_by, days_needed
from catalog.loans.models import Hold
from tests.cast import Cast
from tests.loans.world import Stage, decide, make_stage
from tests.reading import text_of

AsUser = Callable[[Any], Client]
DAY = date(2031, 6, 10)  # a Tuesday


@pytest.mark.parametrize(
    ("works", "begin"),
    [
        ([], DAY),
        ([Work("freeze", 14, Kind.CALENDAR)], date(2031, 5, 27)),
        ([Work("repair", 2)], date(2031, 6, 6)),
        ([Work("freeze", 14, Kind.CALENDAR), Work("repair", 2)], date(2031, 5, 23)),
        ([Work("repair", None)], DAY),
        ([Work("freeze", 14, Kind.CALENDAR, started_on=date(2031, 5, 20))], DAY),
    ],
    ids=["nothing", "calendar days", "working days over a weekend", "one after the other", "nobody knows", "under way"],
)
def test_begin_by(works: list[Work], begin: date) -> None:
    assert begin_by(DAY, works) == begin
    assert days_needed(DAY, works) == (DAY - begin).days


def test_closed_days_are_no_working_days() -> None:
    assert begin_by(DAY, [Work("repair", 1)], frozenset([date(2031, 6, 9)])) == date(2031, 6, 6)


@given(st.integers(0, 400), st.lists(st.integers(1, 15), max_size=3), st.sets(st.integers(-60, 400), max_size=6))
@settings(max_examples=80)
def test_working_days_against_numpy(offset: int, days: list[int], closed: set[int]) -> None:
    use, off = DAY + timedelta(days=offset), [DAY + timedelta(days=n) for n in closed]
    wanted = np.datetime64(use)
    for number in days:
        wanted = np.busday_offset(wanted, -number, roll="backward", holidays=[np.datetime64(day) for day in off])
    assert begin_by(use, [Work("x", number) for number in days], frozenset(off)) == wanted.astype(object)


@pytest.fixture
def stage(db: None) -> Stage:
    return make_stage()


def post(client: Client, **change: str) -> Any:
    asked = {
        "pieces": "MOOR-0001, MOOR-0002", "for_whom": "Fen unit", "reference": "H-1", "use_from": "2031-06-10",
        "use_to": "2031-06-12", "days_before": "1", "days_after": "14", "strength": "firm", "confirmed_by": "A. B.",
    }  # fmt: skip
    return client.post(reverse("loans:make_hold"), asked | change)


def test_the_hold_begins_early_enough_or_its_page_says_so(cast: Cast, stage: Stage, as_user: AsUser) -> None:
    with time_machine.travel("2031-05-01 09:00Z", tick=False):
        facts = {"what": "freeze", "days": 14, "day_kind": "calendar"}
        Treatment.objects.create(piece=stage.coat, **facts)
        decide(
            cast.archivist,
            stage.coats[1],
            WearDecision.Decision.REPAIR,
            repair="hem",
            repair_days=3,
            repair_day_kind="working",
        )
        client = as_user(cast.production)
        assert post(client, strength="pencil", confirmed_by="").status_code == 302
        page = text_of(client.get(reverse("loans:hold", args=["H-1"])))
        assert "MOOR-0001 needs freeze (14 calendar days) before its use: begin by 27 May 2031." in page
        assert "That is before the hold begins on 9 Jun 2031." in page
        assert "MOOR-0002 needs hem (3 working days) before its use: begin by 5 Jun 2031." in page
        assert post(client, reference="H-2", own_needs="on").status_code == 302
        held = Hold.objects.get(reference="H-2")
        assert (held.starts, held.ends) == (date(2031, 5, 27), date(2031, 6, 26))
        assert "before the hold begins" not in text_of(client.get(reverse("loans:hold", args=["H-2"])))
