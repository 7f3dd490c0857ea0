"""A stocktake knows of jobs: what was pulled for a loan lies on no shelf and is not missing."""

from collections.abc import Callable
from typing import Any

from django.test import Client

from catalog.core.history import lines_of
from catalog.loans.models import Loan, LoanLine
from catalog.storage import stocktake_actions as taking
from catalog.storage import stocktake_queries
from catalog.storage.models import Standing, Stocktake
from tests.demo_world import DemoWorld


def test_what_was_pulled_is_left_out_and_named(demo_world: DemoWorld, as_user: Callable[[Any], Client]) -> None:
    by, room = demo_world.cast.archivist, demo_world.place("CR")
    numbers = list(
        Standing.objects.filter(place__in=stocktake_queries.stops_to_make(room, None), state="in store")
        .order_by("piece__number")
        .values_list("piece__number", flat=True)
    )
    assert len(numbers) > 4
    loan = Loan.objects.create(reference="L-9", to_whom="unit", due_on=demo_world.today)
    LoanLine.objects.create(loan=loan, piece=demo_world.piece(numbers[0]), state=LoanLine.State.PULLED)
    LoanLine.objects.create(loan=loan, piece=demo_world.piece(numbers[1]), state=LoanLine.State.TO_PULL)
    take = taking.start_stocktake(by=by, place=room, draw="sample", sample_size=500)
    for stop in take.stops.select_related("place"):
        taking.count_stop(by=by, stocktake=take, place=stop.place)
    page = as_user(by).post(f"/stocktake/{take.reference}/close/", follow=True).content.decode()
    missing = set(take.lines.filter(kind="missing").values_list("piece__number", flat=True))
    assert numbers[0] not in missing
    assert numbers[1] in missing, "what is only to be pulled still lies on its shelf"
    assert lines_of(take.subject)[0].after["on_a_job"] == [numbers[0]]
    assert f"on a job {numbers[0]}" in page
    drawn = set(take.drawn.filter(why="sample").values_list("piece__number", flat=True))
    assert Stocktake.objects.get().sample_missing == len(drawn & missing)
