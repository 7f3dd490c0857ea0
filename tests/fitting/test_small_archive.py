"""A small archive of other names: what the demo does not show. Rows are made by the rooms' own actions."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from catalog.care import actions as care
from catalog.core.errors import NotAllowed, Refused, WrongValues
from catalog.core.models import HistoryLine
from catalog.fitting import actions
from catalog.fitting.calc.fit import Verdict
from catalog.fitting.calc.jumps import jumps
from catalog.fitting.models import SizeSheet
from catalog.fitting.queries import dry_run
from catalog.fitting.stock_queries import Cell, question_of, question_of_days, stock_of
from catalog.loans import actions as loans
from catalog.loans.models import Call
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece, Slot
from catalog.storage import actions as storage
from tests.fitting.mill import TODAY, Mill, cells, mill, wearer

__all__ = ["mill"]
SignIn = Callable[[Any], Client]


# --- what is free ----------------------------------------------------------------------------------------------------
def test_two_are_dressed_and_a_third_is_not_needed(mill: Mill) -> None:
    for number, chest in (("1", 950), ("2", 1050), ("3", 900)):
        wearer(mill, number, chest=chest)
    run = dry_run(mill.call)
    assert (run.plan.total, run.asked_total) == (2, 2)
    assert [row.reason.value for row in run.plan.left_out] == ["not needed"]


def test_a_piece_without_a_decision_a_place_or_a_measure_is_never_a_yes(mill: Mill) -> None:
    by = mill.cast.archivist
    bare = pieces.record_piece(
        by=by, number="MILL-9", name="smock", kind="shirt", production=mill.production, role=mill.role, slot=mill.slot,
        materials=("linen",),
    )  # fmt: skip
    wearer(mill, "1", chest=950)
    assert cells(mill)["MILL-9"] is Cell.MISSING
    storage.receive_piece(by=by, piece=bare, home=mill.place)
    assert cells(mill)["MILL-9"] is Cell.UNFIT
    care.decide_wear(by=by, piece=bare, decision="wear", decided_on=TODAY, decided_by_name="keeper")
    assert cells(mill)["MILL-9"] is Cell.PRESENT
    fit = dry_run(mill.call).problem.fits["1", "MILL-9"]
    assert fit.verdict is Verdict.UNKNOWN
    assert fit.probability is None


def test_a_slot_without_any_band_fits_nobody_and_one_for_anybody_fits_all(mill: Mill) -> None:
    wearer(mill, "1", chest=950)
    band = mill.slot.bands.get()
    actions.remove_band(by=mill.cast.archivist, band=band)
    assert dry_run(mill.call).plan.total == 0
    Slot.objects.filter(pk=mill.slot.pk).update(fits_anybody=True)
    assert dry_run(mill.call).plan.total == 1


def test_a_band_of_the_kind_serves_where_the_slot_has_none(mill: Mill) -> None:
    wearer(mill, "1", chest=950)
    actions.remove_band(by=mill.cast.archivist, band=mill.slot.bands.get())
    actions.add_band(
        by=mill.cast.archivist, kind="shirt", body_point="chest", garment_point="chest", min_ease=40, max_ease=200
    )
    assert dry_run(mill.call).plan.total == 1


def test_a_role_without_slots_dresses_nobody(mill: Mill, as_user: SignIn) -> None:
    ghost = pieces.add_role(by=mill.cast.archivist, production=mill.production, code="GHOST", name="Ghost")
    loans.set_need(by=mill.cast.production, call=mill.call, role=ghost, count=1)
    wearer(mill, "1", chest=950)
    run = dry_run(mill.call)
    assert run.plan.dressed == {"HAND": 1, "GHOST": 0}
    words = as_user(mill.cast.production).get("/fitting/calls/MILL-1/dry-run/").content.decode()
    assert "1 of 3 can be dressed" in " ".join(words.split())


def test_another_jobs_firm_hold_takes_a_piece_and_a_pencil_only_warns(mill: Mill) -> None:
    def hold(reference: str, strength: str, piece: Piece) -> None:
        loans.hold(
            by=mill.cast.production, reference=reference, for_whom="a fair", pieces=[piece], strength=strength,
            use_from=date(2031, 6, 1), use_to=date(2031, 6, 10), confirmed_by="A. Person",
        )  # fmt: skip

    hold("FAIR-1", "firm", mill.smocks[0])
    hold("FAIR-2", "pencil", mill.smocks[1])
    found = cells(mill)
    assert (found["MILL-1000"], found["MILL-1100"]) == (Cell.HELD, Cell.PRESENT)
    assert cells(mill, released=["fair-1"])["MILL-1000"] is Cell.PRESENT
    row = next(r for r in stock_of([mill.role], question_of(mill.call)) if r.piece.number == "MILL-1100")
    assert any("pencilled" in note.lower() for note in row.notes)


def test_a_piece_in_another_look_is_used_only_when_somebody_said_how(mill: Mill) -> None:
    Piece.objects.filter(pk=mill.smocks[0].pk).update(look=mill.clean)
    Call.objects.filter(pk=mill.call.pk).update(look=mill.dusty)
    mill.call.refresh_from_db()
    assert cells(mill)["MILL-1000"] is Cell.UNFIT
    care.decide_wear(
        by=mill.cast.archivist, piece=mill.smocks[0], decision="wear after repair", repair="dust it", repair_days=1,
        decided_on=TODAY, decided_by_name="keeper",
    )  # fmt: skip
    assert cells(mill)["MILL-1000"] is Cell.MEND


def test_quarantine_and_being_out_keep_a_piece_away(mill: Mill) -> None:
    first = question_of(mill.call).first
    care.open_quarantine(
        by=mill.cast.archivist, piece=mill.smocks[0], opened_on=TODAY, due_on=first, reason="came home"
    )
    storage.send_out(by=mill.cast.archivist, piece=mill.smocks[1], to=None, reason="shown at a fair")
    found = cells(mill)
    assert (found["MILL-1000"], found["MILL-1100"]) == (Cell.AWAY, Cell.AWAY)


def test_quarantine_that_is_due_before_the_days_keeps_nothing_away(mill: Mill) -> None:
    due, by = question_of(mill.call).first - timedelta(days=1), mill.cast.archivist
    storage.send_out(by=by, piece=mill.smocks[1], to=None, reason="shown at a fair")
    for smock in mill.smocks[:2]:
        care.open_quarantine(by=by, piece=smock, opened_on=TODAY, due_on=due, reason="came home")
    rows = {row.piece.number: row for row in stock_of([mill.role], question_of(mill.call))}
    assert rows["MILL-1000"].usable
    assert rows["MILL-1000"].notes == (f"In quarantine until {due:%-d %b %Y}; to be checked and released first.",)
    assert rows["MILL-1100"].cell is Cell.AWAY, "due in time, and still not in store"
    today = {row.piece.number: row.cell for row in stock_of([mill.role], question_of_days())}
    assert today["MILL-1000"] is Cell.AWAY, "today it is in quarantine"


def test_a_decision_in_question_dresses_nobody(mill: Mill) -> None:
    care.question_wear(by=mill.cast.archivist, piece=mill.smocks[0], what="came home changed", why="torn", on=TODAY)
    rows = {row.piece.number: row for row in stock_of([mill.role], question_of(mill.call))}
    assert rows["MILL-1000"].cell is Cell.UNFIT
    assert rows["MILL-1000"].why == ("On 5 May 2031 it came home changed: torn. Look at it and decide anew.",)


# --- sizes -----------------------------------------------------------------------------------------------------------
def test_a_minor_needs_a_guardian_and_is_never_predicted(mill: Mill) -> None:
    child = loans.add_wearer(by=mill.cast.production, call=mill.call, number="7", name="Young", minor=True)
    lead = mill.cast.wardrobe_lead
    with pytest.raises(Refused, match="guardian"):
        actions.add_sheet(by=lead, wearer=child, layer="card", height_mm=1500, weight_g=45_000)
    actions.add_sheet(
        by=lead, wearer=child, layer="card", height_mm=1500, weight_g=45_000, guardian_consent="father, 1 May"
    )
    run = dry_run(mill.call)
    assert all(run.problem.fits["7", piece.number].verdict is Verdict.UNKNOWN for piece in mill.smocks)
    assert all(run.problem.fits["7", piece.number].probability is None for piece in mill.smocks)
    assert run.range is None
    actions.add_sheet(
        by=lead, wearer=child, layer="measured", values={"chest": 920}, consent=True, guardian_consent="father, 1 May"
    )
    assert dry_run(mill.call).plan.total == 1


@pytest.mark.parametrize(
    ("sizes", "sentence"),
    [
        ({"height_mm": 300}, "between 50 and 260 cm"),
        ({"weight_g": 900_000}, "between 10 and 350 kg"),
        ({"values": {"chest": 90}}, "between 40 and 220 cm"),
        ({"values": {"tail": 500}}, "“tail” is no tape measure"),
        ({"values": {"weight": 500}}, "“weight” is no tape measure"),
        ({"layer": "guessed", "height_mm": 1700}, "no known word for layer"),
        ({"consent": False}, "with consent only"),
    ],
)
def test_impossible_sizes_are_refused_and_nothing_is_half_stored(
    mill: Mill, sizes: dict[str, Any], sentence: str
) -> None:
    somebody = wearer(mill, "1", chest=950)
    with pytest.raises((Refused, WrongValues), match=sentence):
        actions.add_sheet(
            **{"by": mill.cast.wardrobe_lead, "wearer": somebody, "layer": "measured", "consent": True} | sizes
        )
    kept = SizeSheet.objects.get(wearer=somebody)
    assert [value.value_mm for value in kept.values.all()] == [950]


def test_sizes_are_the_wardrobe_leads_to_write(mill: Mill) -> None:
    somebody = wearer(mill, "1")
    for by in (mill.cast.archivist, mill.cast.production, mill.cast.set_costumer, mill.cast.visitor):
        with pytest.raises(NotAllowed):
            actions.add_sheet(by=by, wearer=somebody, layer="card", height_mm=1700)
        with pytest.raises(NotAllowed):
            actions.set_exclusions(by=by, wearer=somebody, codes=[])
        with pytest.raises(NotAllowed):
            actions.forget_sizes(by=by, today=TODAY, call=mill.call)
        with pytest.raises(NotAllowed):
            actions.note_reading(by=by, call=mill.call, number=1)
        with pytest.raises(NotAllowed):
            actions.store_plan(by=by, run=dry_run(mill.call))


def test_an_unknown_exclusion_is_refused_and_a_known_one_replaces(mill: Mill) -> None:
    somebody, lead = wearer(mill, "1", chest=950), mill.cast.wardrobe_lead
    actions.add_exclusion_rule(by=mill.cast.archivist, code="no_linen", words="no linen", materials=["linen"])
    with pytest.raises(Refused, match="no exclusion “no_air”"):
        actions.set_exclusions(by=lead, wearer=somebody, codes=["no_air"])
    actions.set_exclusions(by=lead, wearer=somebody, codes=["no_linen"])
    assert dry_run(mill.call).plan.total == 0
    actions.set_exclusions(by=lead, wearer=somebody, codes=[])
    assert dry_run(mill.call).plan.total == 1


def test_a_sheet_is_deleted_by_the_houses_setting_unless_a_day_is_given(mill: Mill) -> None:
    somebody = wearer(mill, "1", chest=950)
    assert somebody.sheets.get().delete_on == date(2031, 9, 10)
    told = HistoryLine.objects.filter(verb="size sheet added").latest("seq")
    assert told.after == {"performer": "1", "sheet_layer": "measured"}


def test_a_card_changes_the_range(mill: Mill) -> None:
    for number in ("1", "2"):
        wearer(mill, number, height_mm=1750, weight_g=80_000)
    wide = dry_run(mill.call).range
    assert wide is not None
    assert wide.high.total == 2
    SizeSheet.objects.filter(wearer__number="1").update(height_mm=2000, weight_g=160_000)
    changed = dry_run(mill.call).range
    assert changed is not None
    assert (changed.low.total, changed.high.total) != (wide.low.total, wide.high.total)
    assert "1" not in {line.wearer for line in changed.high.assignments}


def test_nothing_is_planned_for_a_call_without_people_or_needs(mill: Mill, as_user: SignIn) -> None:
    page = as_user(mill.cast.wardrobe_lead).get("/fitting/calls/MILL-1/dry-run/")
    words = " ".join(page.content.decode().split())
    assert "0 of 2 can be dressed as recorded" in words
    assert "Add performers" in words
    with pytest.raises(Refused, match="Nobody can be dressed"):
        actions.store_plan(by=mill.cast.wardrobe_lead, run=dry_run(mill.call))
    loans.set_need(by=mill.cast.production, call=mill.call, role=mill.role, count=0)
    page = as_user(mill.cast.wardrobe_lead).get("/fitting/calls/MILL-1/dry-run/")
    assert "Nobody is asked for yet" in page.content.decode()


def test_a_lock_that_cannot_hold_any_more_is_said_in_words(mill: Mill, as_user: SignIn) -> None:
    wearer(mill, "1", chest=950)
    lead = mill.cast.wardrobe_lead
    kept = actions.store_plan(by=lead, run=dry_run(mill.call))
    actions.lock_performer(by=lead, plan=kept, number="1", locked=True)
    line = kept.lines.get()
    storage.mark_missing(by=mill.cast.archivist, piece=line.piece, note="gone")
    page = as_user(lead).get("/fitting/calls/MILL-1/dry-run/")
    assert page.status_code == 409
    assert "not free for this call" in page.content.decode()
    actions.lock_performer(by=lead, plan=kept, number="1", locked=False)
    assert as_user(lead).get("/fitting/calls/MILL-1/dry-run/").status_code == 200


# --- jumps -----------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("card", "tape", "points"),
    [
        ({"weight": 74_000}, {"weight": 88_000}, ["weight"]),
        ({"height": 1700}, {"height": 1650}, ["height"]),
        ({"height": 1700, "weight": 70_000}, {"height": 1671, "weight": 74_999}, []),
        ({"height": 1700, "weight": 70_000}, {"height": 1670, "weight": 85_000}, ["weight", "height"]),
        ({"chest": 1000}, {"chest": 1050}, ["chest"]),
        ({"chest": 1000}, {"hip": 1200}, []),
        ({}, {}, []),
    ],
)
def test_jumps_between_card_and_tape(card: dict[str, int], tape: dict[str, int], points: list[str]) -> None:
    found = jumps(card, tape)
    assert [jump.point for jump in found] == points
    assert all(jump.change == tape[jump.point] - card[jump.point] for jump in found)
