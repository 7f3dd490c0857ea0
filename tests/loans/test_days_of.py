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
    assert (days.free_now, days.sentence) == (True, "No firm hold is coming.")


def test_a_piece_that_will_be_held(cast: Cast, stage: Stage, store: Store) -> None:
    make_firm(cast.production, [stage.coat])
    days = queries.days_of(stage.coat, date(2031, 6, 1))
    assert (days.free_now, days.sentence) == (True, "Until 7 Jun 2031; then held by JOB-1.")
    assert queries.days_of(stage.coat, date(2031, 6, 20)).sentence == "By JOB-1 for Pick-up unit until 28 Jun 2031."
    bands = [(band["kind"], band["first"].day, band["last"].day) for band in days.rows[0]["bands"]]
    assert bands == [("firm", 8, 14), ("buffer", 15, 28)]
    assert "Days held or pencilled" in render_to_string("catalog/loans/_days.html", {"days": days})


def test_a_pencil_leaves_it_free_and_is_named(cast: Cast, stage: Stage, store: Store) -> None:
    actions.hold(
        by=cast.production, reference="P-1", for_whom="Stills", pieces=[stage.coat], use_from=date(2031, 6, 10),
        use_to=date(2031, 6, 12), strength="pencil", days_before=0, days_after=0,
    )  # fmt: skip
    days = queries.days_of(stage.coat, date(2031, 6, 8))
    assert days.free_now
    assert days.sentence == ("No firm hold is coming. Pencilled by P-1 for Stills from 10 Jun 2031 to 12 Jun 2031.")
    assert days.spans[0].sentence == "MOOR-0001 is pencilled by P-1 for Stills from 10 Jun 2031 to 12 Jun 2031"


def test_a_piece_on_loan_shows_the_number_and_never_the_name(
    cast: Cast, stage: Stage, out: Loan, django_assert_num_queries: Any
) -> None:
    line = out.lines.get(piece=stage.coat)
    actions.sign_out_piece(by=cast.set_costumer, line=line, wearer=out.call.wearers.get())
    with django_assert_num_queries(2):
        days = queries.days_of(stage.coat)
    assert days.sentence == ("MOOR-CALL-1-L1 to Pick-up unit: on set, signed out, due 14 Jun 2031.")
    shown = render_to_string("catalog/loans/_days.html", {"days": days})
    assert "performer 7" in shown
    assert "Quillfeather" not in shown
