"""Holding: buffers, pencils that lapse, firm holds that cannot overlap, releases that keep their trail."""

from datetime import date, timedelta

import pytest
import time_machine
from django.db import IntegrityError, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.core.errors import AlreadyHeld, NotAllowed, Refused, WrongState, WrongValues
from catalog.core.history import lines_of
from catalog.loans import actions, queries
from catalog.loans.models import Hold, HoldDay, HoldPiece
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.loans.world import Stage, make_call, make_stage

DAY = date(2031, 6, 10)


@pytest.fixture(autouse=True)
def _on_the_day():
    with time_machine.travel("2031-05-01 09:00Z", tick=False):
        yield


@pytest.fixture
def stage(db: None) -> Stage:
    return make_stage()


def firm(cast: Cast, reference: str, pieces: list[Piece], start: date, end: date, **more: object) -> Hold:
    facts: dict[str, object] = {"days_before": 0, "days_after": 0, "confirmed_by": "A. Producer", "strength": "firm"}
    return actions.hold(
        by=cast.archivist,
        reference=reference,
        for_whom=f"job {reference}",
        pieces=pieces,
        use_from=start,
        use_to=end,
        **(facts | more),  # type: ignore[arg-type]
    )


def days_of(piece: Piece) -> list[date]:
    return list(piece.held_days.order_by("day").values_list("day", flat=True))


def test_a_firm_hold_takes_each_piece_each_day_with_buffers(cast: Cast, stage: Stage) -> None:
    held = firm(cast, "A-1", stage.coats[:2], DAY, DAY + timedelta(days=2), days_before=1, days_after=14)
    assert (held.starts, held.ends) == (date(2031, 6, 9), date(2031, 6, 26))
    assert len(days_of(stage.coat)) == 18
    assert HoldDay.objects.count() == 36
    line = lines_of(stage.coat.subject)[0]
    assert line.verb == "held"
    assert line.after == {"hold": "A-1", "strength": "firm", "held_from": "2031-06-09", "held_to": "2031-06-26"}


def test_the_house_says_the_buffers(cast: Cast, stage: Stage) -> None:
    held = firm(cast, "A-1", [stage.coat], DAY, DAY, days_before=None, days_after=None)
    assert (held.starts, held.ends) == (DAY, DAY + timedelta(days=14))


@pytest.mark.parametrize(
    ("start", "end", "days"),
    [
        pytest.param(date(2030, 12, 30), date(2031, 1, 2), 4, id="over a year's end"),
        pytest.param(date(2032, 2, 28), date(2032, 3, 1), 3, id="over a leap day"),
        pytest.param(date(2031, 3, 29), date(2031, 3, 31), 3, id="clocks go forward"),
        pytest.param(date(2031, 10, 25), date(2031, 10, 27), 3, id="clocks go back"),
        pytest.param(DAY, DAY, 1, id="one day"),
    ],
)
@pytest.mark.parametrize("zone", ["UTC", "Europe/Berlin", "Pacific/Auckland"])
def test_days_are_dates(cast: Cast, stage: Stage, settings, zone: str, start: date, end: date, days: int) -> None:
    settings.TIME_ZONE = zone
    firm(cast, "A-1", [stage.coat], start, end)
    assert days_of(stage.coat) == [start + timedelta(days=n) for n in range(days)]
    with pytest.raises(AlreadyHeld):
        firm(cast, "A-2", [stage.coat], end, end)
    firm(cast, "A-3", [stage.coat], end + timedelta(days=1), end + timedelta(days=1))


def test_a_second_firm_hold_is_refused_and_told_by_whom(cast: Cast, stage: Stage) -> None:
    firm(cast, "A-1", stage.coats[:2], DAY, DAY + timedelta(days=4))
    with pytest.raises(AlreadyHeld) as told:
        firm(cast, "A-2", stage.coats, DAY + timedelta(days=3), DAY + timedelta(days=9))
    assert told.value.sentence == (
        "MOOR-0001 is firmly held by A-1 for job A-1 from 13 Jun 2031 to 14 Jun 2031. "
        "MOOR-0002 is firmly held by A-1 for job A-1 from 13 Jun 2031 to 14 Jun 2031."
    )
    assert told.value.field == "pieces"
    assert not Hold.objects.filter(reference="A-2").exists()
    assert days_of(stage.coats[2]) == []
    assert lines_of(stage.coats[2].subject).count() == 0


def test_the_database_itself_refuses_a_second_hold_on_a_day(cast: Cast, stage: Stage) -> None:
    first = firm(cast, "A-1", [stage.coat], DAY, DAY)
    other = firm(cast, "A-2", [stage.coats[1]], DAY, DAY)
    with pytest.raises(IntegrityError), transaction.atomic():
        HoldDay.objects.create(hold=other, piece=stage.coat, day=DAY)
    assert first.days.count() == 1


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"pieces": []}, "Choose at least one piece to hold."),
        ({"use_to": DAY - timedelta(days=1)}, "A hold ends on or after the day it starts."),
        ({"days_after": -1}, "A buffer is a number of days, 0 or more."),
        ({"reference": "a/b"}, "A reference is letters, digits, dots and dashes, without blanks."),
    ],
)
def test_what_makes_no_sense_is_refused(cast: Cast, stage: Stage, change: dict[str, object], sentence: str) -> None:
    facts: dict[str, object] = {
        "reference": "A-1", "for_whom": "job", "pieces": [stage.coat], "use_from": DAY, "use_to": DAY,
        "strength": "firm", "confirmed_by": "A. Producer",
    }  # fmt: skip
    with pytest.raises(Refused) as told:
        actions.hold(by=cast.archivist, **(facts | change))  # type: ignore[arg-type]
    assert told.value.sentence == sentence
    assert not Hold.objects.exists()


def test_a_firm_hold_needs_a_name(cast: Cast, stage: Stage) -> None:
    with pytest.raises(WrongValues, match="needs the name of who authorised it"):
        firm(cast, "A-1", [stage.coat], DAY, DAY, confirmed_by=" ")
    firm(cast, "A-1", [stage.coat], DAY, DAY)
    with pytest.raises(WrongValues, match="There is a hold of this reference"):
        firm(cast, "a-1", [stage.coats[1]], DAY, DAY)


@pytest.mark.parametrize("duty", ["set_costumer", "visitor"])
def test_who_may_not_hold(cast: Cast, stage: Stage, duty: str) -> None:
    with pytest.raises(NotAllowed):
        actions.hold(
            by=getattr(cast, duty), reference="A-1", for_whom="job", pieces=[stage.coat], use_from=DAY, use_to=DAY,
            strength="pencil",
        )  # fmt: skip


# --- pencils ---------------------------------------------------------------------------------------------------------
def pencil(cast: Cast, reference: str, pieces: list[Piece], lapses_on: date | None = None) -> Hold:
    return firm(cast, reference, pieces, DAY, DAY, strength="pencil", confirmed_by="", lapses_on=lapses_on)


def test_a_pencil_blocks_nobody_and_lapses_by_itself(cast: Cast, stage: Stage) -> None:
    first = pencil(cast, "P-1", [stage.coat])
    assert first.lapses_on == date(2031, 5, 15)
    assert days_of(stage.coat) == []
    pencil(cast, "P-2", [stage.coat], date(2031, 5, 20))
    assert [span.hold for span in queries.holds_of([stage.coat], DAY, DAY)] == ["P-1", "P-2"]
    with time_machine.travel("2031-05-15 00:30Z", tick=False):
        # Nobody wrote it down yet; reading knows all the same.
        assert [span.hold for span in queries.holds_of([stage.coat], DAY, DAY)] == ["P-2"]
        with pytest.raises(WrongState, match="P-1 lapsed on 15 May 2031: make a new hold"):
            actions.firm_up(by=cast.archivist, hold=first, confirmed_by="A. Producer")
        assert [gone.reference for gone in actions.lapse_pencils(date(2031, 5, 15))] == ["P-1"]
        assert actions.lapse_pencils(date(2031, 5, 15)) == []
    first.refresh_from_db()
    assert first.state == Hold.State.LAPSED


def test_firming_up_takes_the_days_or_names_the_winner(cast: Cast, stage: Stage) -> None:
    first, second = pencil(cast, "P-1", [stage.coat]), pencil(cast, "P-2", [stage.coat])
    with pytest.raises(Refused, match="needs the name"):
        actions.firm_up(by=cast.archivist, hold=first, confirmed_by="")
    actions.firm_up(by=cast.archivist, hold=second, confirmed_by="A. Producer")
    assert days_of(stage.coat) == [DAY]
    assert second.lapses_on is None
    with pytest.raises(AlreadyHeld, match="held by P-2 for job P-2 on 10 Jun 2031"):
        actions.firm_up(by=cast.archivist, hold=first, confirmed_by="B. Producer")
    first.refresh_from_db()
    assert first.strength == "pencil"
    with pytest.raises(WrongState, match="firm already"):
        actions.firm_up(by=cast.archivist, hold=second, confirmed_by="A. Producer")


# --- release ---------------------------------------------------------------------------------------------------------
def test_an_early_release_of_some_pieces_keeps_its_trail(cast: Cast, stage: Stage) -> None:
    held = firm(cast, "A-1", stage.coats[:2], date(2031, 4, 20), DAY)
    with pytest.raises(Refused, match="Say why"):
        actions.release_hold(by=cast.archivist, hold=held, reason=" ")
    actions.release_hold(
        by=cast.archivist, hold=held, pieces=[stage.coat], reason="museum agrees", free_from=date(2031, 5, 10)
    )
    assert days_of(stage.coat)[-1] == date(2031, 5, 9)
    assert days_of(stage.coats[1])[-1] == DAY
    assert queries.busy_piece_ids(DAY, DAY) == {stage.coats[1].pk}
    assert queries.busy_piece_ids(date(2031, 5, 9), DAY) == {stage.coat.pk, stage.coats[1].pk}
    assert [span.last for span in queries.holds_of([stage.coat], date(2031, 5, 1), DAY)] == [date(2031, 5, 9)]
    assert queries.holds_of([stage.coat], date(2031, 5, 10), DAY) == []
    line = lines_of(stage.coat.subject)[0]
    assert (line.verb, line.reason) == ("released from a hold", "museum agrees")
    firm(cast, "A-2", [stage.coat], date(2031, 5, 10), DAY)
    held.refresh_from_db()
    assert held.state == Hold.State.ACTIVE
    with pytest.raises(Refused, match="MOOR-0001 is not held by A-1"):
        actions.release_hold(by=cast.archivist, hold=held, pieces=[stage.coat], reason="again")
    actions.release_hold(by=cast.archivist, hold=held, reason="all of it")
    assert held.state == Hold.State.RELEASED
    with pytest.raises(WrongState, match="released already"):
        actions.release_hold(by=cast.archivist, hold=held, reason="again")


def test_a_call_does_not_stand_in_its_own_way(cast: Cast, stage: Stage) -> None:
    call = make_call(cast.archivist, stage)
    firm(cast, "A-1", [stage.coat], DAY, DAY, call=call)
    assert queries.busy_piece_ids(DAY, DAY) == {stage.coat.pk}
    assert queries.busy_piece_ids(DAY, DAY, except_call=call) == set()
    assert queries.holds_of([stage.coat], DAY, DAY, ignoring=call) == []


STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("hold"), st.sets(st.integers(0, 2), min_size=1), st.integers(0, 9), st.integers(0, 4)),
        st.tuples(st.just("release"), st.sets(st.integers(0, 2)), st.integers(0, 6), st.integers(0, 9)),
    ),
    max_size=10,
)


@given(steps=STEPS)
@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_sequence_leaves_two_firm_holds_on_a_day(cast: Cast, stage: Stage, steps: list[tuple]) -> None:
    """Whatever is held and released: the day rows are exactly the days of the spans, and no day has two."""
    with transaction.atomic():
        made: list[Hold] = []
        for step in steps:
            try:
                if step[0] == "hold":
                    _, which, start, length = step
                    first = DAY + timedelta(days=start)
                    last = first + timedelta(days=length)
                    made.append(firm(cast, f"X-{len(made)}", [stage.coats[n] for n in sorted(which)], first, last))
                elif made:
                    _, which, index, day = step
                    some = [stage.coats[n] for n in sorted(which)] or None
                    actions.release_hold(
                        by=cast.archivist, hold=made[index % len(made)], pieces=some, reason="x",
                        free_from=DAY + timedelta(days=day),
                    )  # fmt: skip
            except Refused:
                pass
        check_books()
        transaction.set_rollback(True)


def check_books() -> None:
    spans: list[tuple[int, date]] = []
    for row in HoldPiece.objects.select_related("hold"):
        last = row.hold.ends if row.released_on is None else row.released_on - timedelta(days=1)
        spans += [(row.piece_id, day) for day in queries.days_between(row.hold.starts, last)]
    assert len(spans) == len(set(spans))
    assert sorted(spans) == sorted(HoldDay.objects.values_list("piece_id", "day"))


def test_a_hold_to_the_end_of_the_calendar_is_refused_in_a_sentence(cast: Cast) -> None:
    stage = make_stage()
    with pytest.raises(Refused, match="lasts at most"):
        actions.hold(
            by=cast.production,
            reference="FAR",
            for_whom="somebody",
            pieces=stage.coats,
            use_from=date(2026, 7, 1),
            use_to=date(9999, 12, 31),
            strength="pencil",
            days_after=300,
        )
