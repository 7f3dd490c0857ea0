"""Many at once for the same coat: exactly one gets it, and the others are told who.

Run on whichever database the suite runs on; each thread has a connection of its own, and the file is a real one.
"""

import threading
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.db import connection, connections

from catalog.access.models import User
from catalog.core.errors import AlreadyHeld
from catalog.loans import actions, queries
from catalog.loans.models import Hold, HoldDay
from tests.cast import Cast, make_cast
from tests.loans.world import Stage, make_stage

THREADS, ROUNDS = 8, 5
DAY = date(2031, 6, 10)


def race(runners: list[Callable[[], object]]) -> list[object]:
    """Start all at the same moment; each gives back what it got or the error it met."""
    results: list[object] = [None] * len(runners)
    start = threading.Barrier(len(runners))

    def run(n: int) -> None:
        try:
            start.wait(timeout=30)
            results[n] = runners[n]()
        except Exception as error:  # noqa: BLE001 - any other error must fail the test below, with its name
            results[n] = error
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(n,)) for n in range(len(runners))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=120)
    assert not any(thread.is_alive() for thread in threads)
    return results


def firm(by: User, reference: str, stage: Stage, order: int, first: date) -> Callable[[], Hold]:
    # Every second racer names the pieces backwards and shifts the days: still no deadlock and no second winner.
    pieces = stage.coats if order % 2 else stage.coats[::-1]
    start = first + timedelta(days=order % 3)

    def go() -> Hold:
        return actions.hold(
            by=by, reference=reference, for_whom=f"unit {order}", pieces=pieces, use_from=start,
            use_to=start + timedelta(days=4), strength="firm", confirmed_by="A. Producer", days_before=1, days_after=2,
        )  # fmt: skip

    return go


@pytest.fixture
def people(transactional_db: None) -> Cast:
    return make_cast()


def test_one_wins_and_the_others_are_told_by_whom(people: Cast) -> None:
    stage = make_stage()
    assert connection.vendor != "sqlite" or "memory" not in str(connection.settings_dict["NAME"])
    for turn in range(ROUNDS):
        first = DAY + timedelta(days=30 * turn)
        runners = [firm(people.archivist, f"R{turn}-{n}", stage, n, first) for n in range(THREADS)]
        results = race(runners)
        winners = [result for result in results if isinstance(result, Hold)]
        losers = [result for result in results if isinstance(result, AlreadyHeld)]
        assert (len(winners), len(losers)) == (1, THREADS - 1), results
        for loser in losers:
            assert f"is firmly held by {winners[0].reference} for {winners[0].for_whom}" in loser.sentence
    assert Hold.objects.count() == ROUNDS
    assert HoldDay.objects.count() == ROUNDS * len(stage.coats) * 8


def test_pencils_racing_to_become_firm(people: Cast) -> None:
    stage = make_stage()
    pencils = [
        actions.hold(
            by=people.archivist, reference=f"P-{n}", for_whom=f"unit {n}", pieces=stage.coats, use_from=DAY,
            use_to=DAY, strength="pencil", lapses_on=date(2099, 1, 1),
        )
        for n in range(THREADS)
    ]  # fmt: skip
    results = race(
        [
            lambda held=held: actions.firm_up(by=people.archivist, hold=held, confirmed_by="A. Producer")  # type: ignore[misc]
            for held in pencils
        ]
    )
    assert sum(isinstance(result, Hold) for result in results) == 1, results
    assert sum(isinstance(result, AlreadyHeld) for result in results) == THREADS - 1, results
    assert Hold.objects.filter(strength="firm").count() == 1


def test_check_then_insert_would_have_let_several_win(people: Cast) -> None:
    """The guard on the guard: the naive way, without the day rows, is beaten by the same race."""
    stage = make_stage()
    free = threading.Barrier(THREADS)

    def naive(n: int) -> Callable[[], object]:
        def go() -> object:
            if queries.firm_clashes([stage.coat.pk], DAY, DAY):
                return None
            free.wait(timeout=30)  # everybody has looked before anybody writes
            return Hold.objects.create(
                reference=f"N-{n}", for_whom="x", strength="firm", confirmed_by="y", use_from=DAY, use_to=DAY,
                starts=DAY, ends=DAY,
            )  # fmt: skip

        return go

    results = race([naive(n) for n in range(THREADS)])
    assert sum(isinstance(result, Hold) for result in results) == THREADS, results
