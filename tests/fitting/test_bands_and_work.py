"""When a piece must be mended or treated first, and when it sits well, in the mill's wardrobe."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from catalog.care import actions as care
from catalog.core.errors import Refused
from catalog.fitting import actions
from catalog.fitting.calc.fit import Verdict
from catalog.fitting.queries import dry_run
from catalog.fitting.stock_queries import Cell, StockPiece, question_of, question_of_days, stock_of
from catalog.loans.models import Call
from catalog.pieces.models import Piece
from catalog.storage import actions as storage
from tests.fitting.mill import TODAY, Mill, mill, wearer

__all__ = ["mill"]
SignIn = Callable[[Any], Client]


def test_mending_must_be_ready_before_the_truck_loads(mill: Mill) -> None:
    piece, by = mill.smocks[0], mill.cast.archivist

    def decide(days: int) -> None:
        care.decide_wear(
            by=by, piece=piece, decision="wear after repair", repair="new cuffs", repair_days=days,
            decided_on=TODAY, decided_by_name="keeper",
        )  # fmt: skip

    decide(10)
    row = next(r for r in stock_of([mill.role], question_of(mill.call)) if r.piece == piece)
    # Ten working days before Monday 9 June 2031.
    assert (row.cell, row.usable, row.start_by) == (Cell.MEND, True, date(2031, 5, 26))
    decide(40)
    row = next(r for r in stock_of([mill.role], question_of(mill.call)) if r.piece == piece)
    assert not row.usable
    assert "had to start by" in row.why[0]
    # As the store stands, with no day given, it only waits for its mending.
    assert next(r for r in stock_of([mill.role], question_of_days()) if r.piece == piece).usable
    # Work that has begun is judged by when it will be ready.
    care.decide_wear(
        by=by, piece=piece, decision="wear after repair", repair="new cuffs", repair_days=10, decided_on=TODAY,
        decided_by_name="keeper",
    )  # fmt: skip
    work = care.need_treatment(by=by, piece=piece, what="new cuffs", days=30)
    care.start_treatment(by=by, treatment=work, started_on=TODAY)
    row = next(r for r in stock_of([mill.role], question_of(mill.call)) if r.piece == piece)
    assert not row.usable
    assert "not ready before 16 Jun 2031" in row.why[0]


def test_open_pest_work_must_be_over_before_the_truck_loads(mill: Mill) -> None:
    """Loading is on Monday 9 June 2031 and today is 5 May."""
    piece, by = mill.smocks[0], mill.cast.archivist

    def row() -> StockPiece:
        return next(row for row in stock_of([mill.role], question_of(mill.call)) if row.piece == piece)

    work = care.need_treatment(by=by, piece=piece, what="freeze", days=14, day_kind="calendar")
    assert (row().cell, row().usable, row().work, row().start_by) == (Cell.MEND, True, "freeze", date(2031, 5, 26))
    care.start_treatment(by=by, treatment=work, started_on=TODAY)
    assert row().usable
    assert row().notes == ("freeze, until 19 May 2031.",)
    care.call_off_treatment(by=by, treatment=work, reason="another way")
    assert (row().cell, row().notes) == (Cell.PRESENT, ())
    late = care.need_treatment(by=by, piece=piece, what="low oxygen", days=60, day_kind="calendar")
    assert not row().usable
    assert "had to start by" in row().why[0]
    care.start_treatment(by=by, treatment=late, started_on=TODAY)
    assert row().why == ("low oxygen: not ready before 4 Jul 2031.",)
    care.call_off_treatment(by=by, treatment=late, reason="another way")
    care.need_treatment(by=by, piece=piece, what="fumigation")
    assert row().why == ("fumigation: nobody has said how long it takes.",)


def test_a_good_range_has_both_ends_inside_what_is_wearable(mill: Mill, as_user: SignIn) -> None:
    facts = {"slot": mill.slot, "body_point": "chest", "garment_point": "chest", "min_ease": 40, "max_ease": 200}
    for good in ({"good_min": 80}, {"good_min": 120, "good_max": 80}, {"good_min": 30, "good_max": 80}):
        with pytest.raises(Refused):
            actions.add_band(by=mill.cast.archivist, **facts, **good)
    with pytest.raises(IntegrityError), transaction.atomic():
        mill.slot.bands.update(good_min=80)
    client = as_user(mill.cast.archivist)
    asked = {
        "slot": mill.slot.pk, "body_point": "chest", "garment_point": "chest", "scale": "mm", "least": "4",
        "most": "20", "good_least": "8", "good_most": "12",
    }  # fmt: skip
    assert client.post("/fitting/bands/", asked | {"good_most": ""}).status_code == 422
    assert client.post("/fitting/bands/", asked).status_code == 302
    band = mill.slot.bands.get()
    assert (band.good_min, band.good_max) == (80, 120)
    assert "8.0 cm to 12.0 cm" in client.get("/fitting/bands/").content.decode()
    initial = client.get("/fitting/bands/", {"band": band.pk}).context["form"].initial
    assert (initial["good_least"], initial["good_most"]) == (8, 12)


def test_of_two_that_fit_the_plan_gives_the_one_that_sits_well(mill: Mill) -> None:
    actions.add_band(
        by=mill.cast.archivist, slot=mill.slot, body_point="chest", garment_point="chest", min_ease=40, max_ease=200,
        good_min=50, good_max=60,
    )  # fmt: skip
    wearer(mill, "1", chest=950)
    run = dry_run(mill.call)
    fits = {code: fit.score for (_, code), fit in run.problem.fits.items() if fit.verdict is Verdict.YES}
    assert len(set(fits.values())) > 1
    assert fits[run.plan.assignments[0].piece or ""] == max(fits.values())


def test_in_close_up_an_original_comes_before_a_remake_and_the_reason_is_told(mill: Mill, as_user: SignIn) -> None:
    """Two smocks fit alike; seen closely the original is worn, and when it is away the page says why a remake is."""
    Call.objects.filter(pk=mill.call.pk).update(close_up=True)
    mill.call.refresh_from_db()
    original, remake, _ = mill.smocks
    Piece.objects.filter(pk=original.pk).update(origin=Piece.Origin.ORIGINAL)
    Piece.objects.exclude(pk=original.pk).update(origin=Piece.Origin.REPLICA)
    wearer(mill, "1", chest=930)
    run = dry_run(mill.call)
    assert [line.piece for line in run.plan.assignments] == [original.number]
    assert run.plan.remakes == ()
    storage.mark_missing(by=mill.cast.archivist, piece=original, note="looked everywhere")
    run = dry_run(mill.call)
    assert [line.piece for line in run.plan.assignments] == [remake.number]
    words = " ".join(as_user(mill.cast.wardrobe_lead).get("/fitting/calls/MILL-1/dry-run/").content.decode().split())
    assert "no original is free for this call" in words
