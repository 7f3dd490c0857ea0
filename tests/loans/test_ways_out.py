"""A clash shows both jobs, their days with and without buffers, and every way out with its days worked out."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.loans import actions, hold_queries
from catalog.loans.hold_queries import Overlap
from catalog.loans.models import Hold
from catalog.pieces.models import OutfitSet, Piece
from tests.cast import Cast
from tests.loans.world import Stage, Store, decide
from tests.reading import text_of

AsUser = Callable[[Any], Client]
DAY = date(2031, 6, 10)


def d(n: int) -> date:
    return DAY + timedelta(days=n)


def firm(cast: Cast, reference: str, pieces: list[Piece], first: int, last: int, **more: Any) -> Hold:
    facts = {"days_before": 0, "days_after": 0, "strength": "firm", "confirmed_by": "A. Producer"}
    return actions.hold(
        by=cast.production, reference=reference, for_whom=f"job {reference}", pieces=pieces, use_from=d(first),
        use_to=d(last), **(facts | more),
    )  # fmt: skip


def only(mine: Hold) -> Overlap:
    (found,) = hold_queries.overlaps_of(mine, hold_queries.pieces_in(mine))
    return found


def test_both_jobs_and_the_days_they_share(cast: Cast, stage: Stage, store: Store, as_user: AsUser) -> None:
    firm(cast, "A-1", stage.coats[:2], 0, 3, days_after=4, notice_days=3)
    mine = firm(cast, "P-1", [stage.coat], 6, 8, strength="pencil", days_before=2, confirmed_by="")
    clash = only(mine)
    assert (clash.first, clash.last, clash.days, clash.in_use) == (d(4), d(7), 4, None)
    assert "Only buffers meet: with fewer days for prep or quarantine both jobs fit." in clash.ways_out
    assert "A part is enough: A-1 lets go 1 of its 2 pieces and keeps all but it." in clash.ways_out
    assert any(way.startswith("Ask job A-1 by 13 Jun 2031 for an early release: 3 days") for way in clash.ways_out)
    page = text_of(as_user(cast.production).get(reverse("loans:hold", args=["P-1"])))
    assert "Asked: used 16 Jun to 18 Jun 2031, with buffers 14 Jun to 18 Jun 2031." in page
    assert "A-1: used 10 Jun to 13 Jun 2031, with buffers 10 Jun to 17 Jun 2031." in page
    assert "Both want 14 Jun to 17 Jun 2031, 4 days; only buffers meet." in page


def test_a_partial_release_is_one_link_away_and_keeps_its_trail(
    cast: Cast, stage: Stage, store: Store, as_user: AsUser
) -> None:
    held = firm(cast, "A-1", stage.coats[:2], 0, 3)
    mine = firm(cast, "P-1", [stage.coat], 2, 8, strength="pencil", confirmed_by="")
    client = as_user(cast.production)
    link = f"{reverse('loans:release', args=['A-1'])}?pieces=MOOR-0001"
    assert link in text_of(client.get(reverse("loans:hold", args=["P-1"])))
    form = client.get(link).context["form"]
    assert form["pieces"].initial == [stage.coat.pk]
    asked = {"pieces": [stage.coat.pk], "free_from": "2031-06-12", "reason": "they agree"}
    assert client.post(link, asked).status_code == 302
    page = text_of(client.get(reverse("loans:hold", args=["A-1"])))
    assert "free from 12 Jun 2031" in page
    assert "they agree" in page
    assert hold_queries.overlaps_of(mine, hold_queries.pieces_in(mine)) == []
    assert [row.released_on for row in hold_queries.pieces_in(held)] == [d(2), None]


def test_another_whole_set_is_named_only_when_all_of_it_is_free(cast: Cast, stage: Stage, store: Store) -> None:
    for n, code in enumerate(("SET-1", "SET-2", "SET-3")):
        outfit = OutfitSet.objects.create(role=stage.piper, code=code)
        Piece.objects.filter(pk=stage.coats[n].pk).update(set=outfit)
    Piece.objects.filter(pk=stage.boots[0].pk).update(set=OutfitSet.objects.get(code="SET-2"))
    firm(cast, "A-1", [stage.coat], 0, 9)
    mine = firm(cast, "P-1", [stage.coat], 2, 3, strength="pencil", confirmed_by="")
    assert "Take another whole set that is free on all these days: SET-2, SET-3." in only(mine).ways_out
    firm(cast, "A-2", [stage.boots[0]], 3, 3)
    assert "Take another whole set that is free on all these days: SET-3." in only(mine).ways_out


def test_other_days_are_free_for_all_asked_pieces_together(cast: Cast, stage: Stage, store: Store) -> None:
    firm(cast, "A-1", [stage.coats[0]], 0, 3)
    firm(cast, "A-2", [stage.coats[1]], 5, 8)
    mine = firm(cast, "P-1", stage.coats[:2], 2, 3, strength="pencil", confirmed_by="")
    assert only(mine).ways_out[-1] == (
        "Move the days: these pieces are free from 19 Jun 2031 for the 2 days asked, buffers included, "
        "or before, up to 9 Jun 2031."
    )


HELD = st.lists(st.tuples(st.integers(0, 2), st.integers(0, 25), st.integers(0, 5)), max_size=6)


@given(held=HELD, asked=st.sets(st.integers(0, 2), min_size=1), start=st.integers(0, 20), more=st.integers(0, 5))
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_clashes_against_a_plain_book_of_days(
    cast: Cast, stage: Stage, held: list[tuple[int, int, int]], asked: set[int], start: int, more: int
) -> None:
    """The plain model: a set of (piece, day) a job. What the page calls a clash is exactly what two sets share."""
    from django.db import transaction  # noqa: PLC0415

    with transaction.atomic():
        book: dict[str, set[tuple[int, date]]] = {}
        taken: set[tuple[int, date]] = set()
        for n, (which, first, days) in enumerate(held):
            wanted = {(stage.coats[which].pk, d(first + k)) for k in range(days + 1)}
            if not wanted & taken:
                firm(cast, f"A-{n}", [stage.coats[which]], first, first + days)
                book[f"A-{n}"] = wanted
                taken |= wanted
        ids = [stage.coats[n].pk for n in asked]
        mine = {(pk, d(start + k)) for pk in ids for k in range(more + 1)}
        found = hold_queries.overlaps(ids, d(start), d(start + more))
        shared = {name: days & mine for name, days in book.items() if days & mine}
        assert {(one.hold, one.first, one.last) for one in found} == {
            (name, min(day for _, day in days), max(day for _, day in days)) for name, days in shared.items()
        }
        transaction.set_rollback(True)


def test_ways_out_for_show_and_for_wear(cast: Cast, stage: Stage, store: Store) -> None:
    for coat in stage.coats[1:]:
        decide(cast.archivist, coat)
    firm(cast, "A-1", [stage.coat], 0, 9)
    mine = firm(cast, "P-1", [stage.coat], 2, 3, strength="pencil", confirmed_by="")
    assert only(mine).ways_out[0].endswith("MOOR-0002, MOOR-0003.")


@pytest.mark.parametrize("person", ["set_costumer", "visitor"])
def test_who_may_not_release_sees_no_link(cast: Cast, stage: Stage, store: Store, as_user: AsUser, person: str) -> None:
    firm(cast, "A-1", [stage.coat], 0, 3)
    firm(cast, "P-1", [stage.coat], 2, 8, strength="pencil", confirmed_by="")
    answer = as_user(getattr(cast, person)).get(reverse("loans:hold", args=["P-1"]))
    assert answer.status_code == 403 or "Release just these" not in text_of(answer)
