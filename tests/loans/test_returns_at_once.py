"""Several clients count one loan back at once, on the database the suite runs on: none is lost, none counts twice;
and the pages of a loan of 200 pieces ask as much as those of a small one.
"""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from catalog.core.history import faults
from catalog.desk.bench.return_run import count_back, loan_out
from catalog.loans.models import LoanLine, PartReturn
from tests.cast import Cast, make_cast
from tests.loans.world import Stage, make_stage

# The bench `returns_at_once` runs 200; here fewer, for the same race.
RETURNS, CLIENTS = 40, 4


def test_none_is_lost_and_none_counts_twice(transactional_db: None) -> None:
    people, stage = make_cast(), make_stage()
    loan = loan_out(stage.production, RETURNS)
    told = count_back(people.set_costumer, loan, CLIENTS)
    assert told.errors == ()
    assert (told.kept, told.twice) == (RETURNS, RETURNS)
    assert (told.quarantined, told.told) == (RETURNS, RETURNS)
    assert list(faults()) == []
    assert PartReturn.objects.filter(line__loan=loan, back=True).count() == 2 * RETURNS // 10
    loan.refresh_from_db()
    assert loan.state == "home"


@pytest.mark.parametrize("name", ["loan", "loan_list", "return", "put_away"])
def test_pages_of_200_pieces_ask_as_much_as_of_10(
    cast: Cast, stage: Stage, as_user: Callable[[Any], Client], name: str
) -> None:
    asked = []
    client = as_user(cast.archivist)
    for count, reference, first in ((10, "SMALL", 1000), (200, "LARGE", 5000)):
        loan = loan_out(stage.production, count, reference, first)
        if name == "put_away":
            loan.lines.update(state=LoanLine.State.QUARANTINED)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert client.get(reverse(f"loans:{name}", args=[loan.reference])).status_code == 200
        asked.append(len(queries))
    assert asked[0] == asked[1] <= 18
