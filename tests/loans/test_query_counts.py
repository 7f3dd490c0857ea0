"""A loan of fifty pieces asks the database as often as one of four."""

from datetime import date

from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from catalog.loans import actions, gap_cards, hold_queries, loan_queries, queries
from tests.cast import Cast
from tests.loans.world import make_call, make_firm, make_stage, make_store


def asked(cast: Cast, size: int, prefix: str) -> dict[str, int]:
    """How many queries each read takes for a loan of `size` pieces."""
    stage = make_stage(coats=size, boots=2)
    make_store(cast.archivist, stage)
    call = make_call(cast.production, stage, reference=f"{prefix}-CALL")
    actions.set_need(by=cast.production, call=call, role=stage.piper, count=2)
    held = make_firm(cast.production, [*stage.coats, *stage.boots], call, f"{prefix}-1")
    loan = actions.start_loan(by=cast.archivist, hold=held)
    first, last = date(2031, 6, 8), date(2031, 6, 14)
    reads = {
        "pull_list": lambda: loan_queries.pull_list(loan),
        "gap_cards": lambda: gap_cards.cards_of(loan),
        "lines_of": lambda: [(line.piece.number, line.wearer) for line in loan_queries.lines_of(loan)],
        "holds_of": lambda: queries.holds_of([*stage.coats, *stage.boots], first, last),
        "busy": lambda: queries.busy_piece_ids(first, last),
        "overlaps": lambda: hold_queries.overlaps([piece.pk for piece in stage.coats], first, last),
        "days_of": lambda: queries.days_of(stage.coat),
    }
    counts = {}
    for name, read in reads.items():
        with CaptureQueriesContext(connection) as seen:
            assert read()
        counts[name] = len(seen)
    return counts


def test_reads_do_not_grow_with_the_loan(cast: Cast) -> None:
    with transaction.atomic():
        small = asked(cast, 2, "SMALL")
        transaction.set_rollback(True)
    assert asked(cast, 48, "BIG") == small
