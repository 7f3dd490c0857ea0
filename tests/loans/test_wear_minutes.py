"""On set: the clock of a piece with a limit, live and sent late; and damage, noted there and told at the return."""

import json
from collections.abc import Callable
from typing import Any

import pytest
import time_machine
from django.db import IntegrityError, transaction

from catalog.core.errors import Overtaken, Refused, WrongState
from catalog.core.models import HistoryLine
from catalog.core.sent_models import SentAct
from catalog.loans import actions
from catalog.loans.clock_queries import clocks
from catalog.loans.models import DamageNote, Loan, LoanLine, Wearer, WearSpell
from catalog.loans.nameless import without_names
from tests.cast import Cast
from tests.loans.test_on_set import BASE, give, late, sends, seven
from tests.loans.world import Stage, decide
from tests.reading import text_of

__all__ = ["seven"]


@pytest.fixture
def hood(cast: Cast, out: Loan, stage: Stage, seven: Wearer, clock: Any) -> LoanLine:
    """A coat that is worn 10 minutes at a time and then rests for 30; performer 7 has it."""
    clock.move_to("2031-06-10 08:00Z")
    limits = {"limits": "hot", "minutes_limit": 10, "rest_minutes": 30}
    decide(cast.archivist, stage.coat, "wear with limits", **limits)
    return give(cast, out, "MOOR-0001", seven)


def minutes(line: LoanLine) -> float:
    return clocks([line])[line.piece_id].stretch.total_seconds() / 60


def test_the_clock_runs_stops_and_rests(cast: Cast, hood: LoanLine, clock: Any) -> None:
    by = cast.set_costumer
    actions.start_clock(by=by, line=hood)
    with pytest.raises(WrongState, match="The clock of MOOR-0001 runs since 08:00"):
        actions.start_clock(by=by, line=hood)
    with pytest.raises(IntegrityError), transaction.atomic():
        WearSpell.objects.create(line=hood, started_at=hood.sign_outs.get().out_at)
    clock.shift(6 * 60)
    actions.stop_clock(by=by, line=hood)
    clock.shift(60)
    actions.start_clock(by=by, line=hood)
    clock.shift(5 * 60)
    assert minutes(hood) == 11
    actions.stop_clock(by=by, line=hood)
    with pytest.raises(WrongState, match="does not run"):
        actions.stop_clock(by=by, line=hood)
    with pytest.raises(WrongState, match="rests: it was worn to its limit and is next worn after 08:42"):
        actions.start_clock(by=by, line=hood, again_by="the medic")
    clock.move_to("2031-06-10 08:42Z")
    actions.start_clock(by=by, line=hood)
    # Whoever takes it in takes it off: the clock stops with it.
    clock.shift(120)
    actions.sign_in_piece(by=by, line=hood)
    assert not WearSpell.objects.filter(stopped_at=None).exists()
    with pytest.raises(WrongState, match="is on nobody: sign it out first"):
        actions.start_clock(by=by, line=hood)


def test_without_a_named_rest_somebody_says_so(
    cast: Cast, hood: LoanLine, stage: Stage, seven: Wearer, clock: Any
) -> None:
    decide(cast.archivist, stage.coat, "wear with limits", limits="hot", minutes_limit=10)
    by = cast.set_costumer
    actions.start_clock(by=by, line=hood)
    clock.shift(10 * 60)
    actions.stop_clock(by=by, line=hood)
    clock.shift(3600)
    with pytest.raises(Refused, match="names no rest: say who lets it be worn again") as told:
        actions.start_clock(by=by, line=hood)
    assert told.value.field == "again_by"
    actions.start_clock(by=by, line=hood, again_by="the medic")
    clock.shift(120)
    assert minutes(hood) == 2
    decide(cast.archivist, stage.coat, "not wearable")
    actions.stop_clock(by=by, line=hood)
    with pytest.raises(Refused, match="stays in"):
        actions.start_clock(by=by, line=hood, again_by="the medic")


def test_the_page_says_stop_and_until_when(cast: Cast, hood: LoanLine, as_user: Any, clock: Any) -> None:
    client = as_user(cast.set_costumer)
    began = client.post(f"{BASE}performers/7/", {"act": "start", "code": "MOOR-0001"}, follow=True)
    assert "The clock of MOOR-0001 runs. It comes off at 08:10." in text_of(began)
    assert "off at 08:10" in text_of(began)
    assert "STOP" not in text_of(client.get(BASE))
    clock.shift(12 * 60)
    page = text_of(client.get(f"{BASE}performers/7/"))
    assert "It comes off now: its limit is reached." in page
    assert "12 min</span> of 10" in page
    assert "STOP</span> MOOR-0001 comes off." in text_of(client.get(BASE))
    off = client.post(f"{BASE}performers/7/", {"act": "stop", "code": "MOOR-0001"}, follow=True)
    assert "MOOR-0001 was worn 12 minutes. It is next worn after 08:42." in text_of(off)
    assert "Next worn after 08:42." in text_of(off)
    assert "Start the clock" not in text_of(off)


def test_late_moments_count_as_they_happened(cast: Cast, hood: LoanLine, as_user: Any, clock: Any) -> None:
    clock.move_to("2031-06-10 12:00Z")
    client = as_user(cast.set_costumer)
    told = sends(
        client, late("start", "MOOR-0001", "2031-06-10T09:00:00Z"), late("stop", "MOOR-0001", "2031-06-10T09:14:00Z"),
        late("start", "MOOR-0001", "2031-06-10T09:20:00Z"), late("stop", "MOOR-0001", "2031-06-10T09:21:00Z"),
    )  # fmt: skip
    # What was worn was worn: past its limit and without its rest, the minutes are kept all the same.
    assert [one["result"] for one in told] == ["done"] * 4
    now = clocks([hood])[hood.piece_id]
    assert now.today.total_seconds() == 15 * 60
    actions.start_clock(by=cast.set_costumer, line=hood)
    assert sends(client, late("start", "MOOR-0001", "2031-06-10T11:58:00Z"))[0]["result"] == "done"
    assert minutes(hood) == 2
    with pytest.raises(Overtaken, match="was started at 11:58, after that"):
        actions.stop_clock(by=cast.set_costumer, line=hood, happened=hood.sign_outs.get().out_at)


def test_damage_is_noted_without_names_and_told_at_the_return(
    cast: Cast, hood: LoanLine, as_user: Callable[[Any], Any], clock: Any
) -> None:
    client = as_user(cast.set_costumer)
    note = {"act": "damage", "code": "MOOR-0001", "what": "cuff torn, Perpetua Quillfeather's left"}
    said = sends(client, late(**{**note, "at": "2031-06-10T08:00:00Z", "cause": "accident"}))[0]["sentence"]
    assert said == "MOOR-0001: “cuff torn, performer 7's left” is noted and shown when it comes home."
    row = DamageNote.objects.get()
    assert (row.cause, row.wearer.number) == ("accident", "7")  # type: ignore[union-attr]
    empty = client.post(f"{BASE}performers/7/", {"act": "damage", "code": "MOOR-0001", "what": " "})
    assert "Say what is damaged." in text_of(empty)
    client.post(f"{BASE}performers/7/", {"act": "damage", "code": "MOOR-0001", "what": "hem wet"})
    assert DamageNote.objects.latest("pk").cause == "unknown"
    kept = json.dumps([*SentAct.objects.values_list("facts", "words"), *HistoryLine.objects.values_list("after")])
    assert "Quillfeather" not in kept
    quick = client.post("/loans/MOOR-CALL-1-L1/return/", {"code": "MOOR-0001", "quick": "on"})
    assert quick.url.endswith("/return/?code=MOOR-0001")
    page = text_of(client.get(quick.url))
    assert "Noted on set" in page
    assert "cuff torn" in page


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Perpetua's sleeve", "performer 7's sleeve"),
        ("QUILLFEATHER, twice: Perpetua Quillfeather", "performer 7, twice: performer 7"),
        ("a feather lost", "a feather lost"),
        ("", ""),
    ],
)
def test_a_name_becomes_a_number(text: str, told: str, out: Loan) -> None:
    assert without_names(out, text) == told


def test_the_clocks_keep_counting_over_other_loans(cast: Cast, hood: LoanLine) -> None:
    with time_machine.travel("2031-06-10 08:00Z", tick=False):
        actions.start_clock(by=cast.set_costumer, line=hood)
        actions.return_piece(by=cast.archivist, loan=hood.loan, code_or_number="MOOR-0001", result="as sent")
    assert WearSpell.objects.get().stopped_at is not None
