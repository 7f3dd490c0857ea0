"""The section of a piece's page: free now, held when, on which loan."""

from datetime import date
from typing import Any

from django.template.loader import render_to_string

from catalog.loans import actions, queries
from catalog.loans.models import Loan
from tests.cast import Cast
from tests.loans.world import Stage, Store, make_firm


def test_a_free_piece(cast: Cast, stage: Stage, store: Store) -> None:
    days = queries.days_of(stage.coat)
    assert (days.free_now, days.sentence) == (True, "Free; no firm hold is coming.")


def test_a_piece_that_will_be_held(cast: Cast, stage: Stage, store: Store) -> None:
    make_firm(cast.production, [stage.coat])
    days = queries.days_of(stage.coat, date(2031, 6, 1))
    assert (days.free_now, days.sentence) == (True, "Free until 7 Jun 2031; then held by JOB-1.")
    assert (
        queries.days_of(stage.coat, date(2031, 6, 20)).sentence == "Held by JOB-1 for Pick-up unit until 28 Jun 2031."
    )
    bands = [(band["kind"], band["first"].day, band["last"].day) for band in days.rows[0]["bands"]]
    assert bands == [("firm", 8, 14), ("buffer", 15, 28)]
    assert "Held days" in render_to_string("catalog/loans/_days.html", {"days": days})


def test_a_piece_on_loan_shows_the_number_and_never_the_name(
    cast: Cast, stage: Stage, out: Loan, django_assert_num_queries: Any
) -> None:
    line = out.lines.get(piece=stage.coat)
    actions.sign_out_piece(by=cast.set_costumer, line=line, wearer=out.call.wearers.get())
    with django_assert_num_queries(2):
        days = queries.days_of(stage.coat)
    assert days.sentence == ("On loan MOOR-CALL-1-L1 to Pick-up unit: on set, signed out, due 14 Jun 2031.")
    shown = render_to_string("catalog/loans/_days.html", {"days": days})
    assert "performer 7" in shown
    assert "Quillfeather" not in shown
