"""Care: what is decided, found and done, each with its line; and what overrides a decision to wear."""

from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from catalog.care import actions
from catalog.care.apart_queries import pest_work_of
from catalog.care.models import ConditionMark, HazardFinding, Quarantine, WearDecision
from catalog.care.queries import care_facts, untested_pieces, wear_blockers, wear_state
from catalog.care.report_actions import MarkSeen
from catalog.core import history
from catalog.core.errors import NotAllowed, Refused, WrongState, WrongValues
from catalog.core.models import HistoryLine, HouseSetting
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.pieces import world

pytestmark = pytest.mark.django_db
DAY = date(2024, 5, 6)


@pytest.fixture
def hat(cast: Cast) -> Piece:
    return world.piece(cast, world.production(cast), kind="hat", name="Tall hat", materials=["silk"])


def decide(cast: Cast, piece: Piece, decision: str = "wear", **more: Any) -> WearDecision:
    return actions.decide_wear(
        by=cast.archivist, piece=piece, decision=decision, decided_on=DAY, decided_by_name="Bo", **more
    )


def find(cast: Cast, piece: Piece, hazard: str, state: str, note: str = "") -> HazardFinding:
    return actions.find_hazard(
        by=cast.archivist, piece=piece, hazard=hazard, state=state, note=note, found_on=DAY, found_by_name="Bo"
    )


def newest(piece: Piece) -> HistoryLine:
    return history.lines_of(piece.subject)[0]


# --- condition --------------------------------------------------------------------------------------------------------
def test_a_report_is_signed_with_its_marks_and_never_changed(cast: Cast, hat: Piece) -> None:
    seen = [MarkSeen("front  rim", "dent", 30), MarkSeen("crown", "scorch", on_screen=True)]
    report = actions.report_condition(
        by=cast.archivist, piece=hat, grade=3, stability="watch", note="soft crown", occasion="entry", marks=seen
    )
    assert report.signed_at is not None
    assert [(m.zone, m.word, m.size_mm, m.on_screen) for m in report.marks.all()] == [
        ("front rim", "dent", 30, None),
        ("crown", "scorch", None, True),
    ]
    line = newest(hat)
    assert (line.verb, line.reason, line.after["grade"]) == ("condition reported", "entry", 3)
    assert line.after["mark"] == ["dent at front rim", "scorch at crown"]
    with pytest.raises(WrongState, match="write a new one"):
        actions.mark_condition(by=cast.archivist, report=report, seen=MarkSeen("rim", "tear"))


def test_a_bad_mark_keeps_no_report(cast: Cast, hat: Piece) -> None:
    with pytest.raises(WrongValues):
        actions.report_condition(by=cast.archivist, piece=hat, grade=2, marks=[MarkSeen("", "tear")])
    with pytest.raises(WrongValues, match="grade"):
        actions.report_condition(by=cast.archivist, piece=hat, grade=9)
    assert not hat.reports.exists()
    assert not ConditionMark.objects.exists()
    assert newest(hat).verb == "recorded"


# --- wear -------------------------------------------------------------------------------------------------------------
def test_without_a_decision_a_piece_is_not_for_wear(cast: Cast, hat: Piece) -> None:
    state = wear_state([hat])[hat.pk]
    assert (state.wear, state.decision, state.may_be_worn) == ("no", None, False)
    assert wear_blockers(hat) == ("Nobody has decided yet whether it may be worn.",)


def test_a_new_decision_replaces_the_old_and_the_line_tells_both(cast: Cast, hat: Piece) -> None:
    decide(cast, hat)
    assert wear_blockers(hat) == ()
    decide(cast, hat, "wear with limits", limits="no rain", minutes_limit=30, no_close_up=True)
    assert [row.decision for row in hat.wear_decisions.filter(current=True)] == ["wear with limits"]
    assert hat.wear_decisions.count() == 2
    line = newest(hat)
    assert line.before["wear"] == "wear"
    assert line.after["wear"] == "wear with limits"
    state = wear_state([hat])[hat.pk]
    assert (state.wear, state.may_be_worn) == ("limits", True)
    assert state.conditions == ("Limits: no rain.", "At most 30 minutes at a time.", "Not for close-up.")


def test_after_a_repair_it_may_be_worn_later(cast: Cast, hat: Piece) -> None:
    decide(cast, hat, "wear after repair", repair="new band", repair_days=3)
    state = wear_state([hat])[hat.pk]
    assert (state.wear, state.repair_days, state.repair_day_kind) == ("repair", 3, "working")
    assert (state.may_be_worn, state.may_be_worn_once_repaired) == (False, True)


@pytest.mark.parametrize("more", [{"decision": "wear with limits"}, {"decision": "wear after repair", "repair": "x"}])
def test_limits_and_repairs_are_named(cast: Cast, hat: Piece, more: dict[str, Any]) -> None:
    with pytest.raises(WrongValues):
        decide(cast, hat, **more)
    with pytest.raises(IntegrityError), transaction.atomic():
        WearDecision.objects.create(piece=hat, decided_on=DAY, decided_by_name="Bo", **more)


def test_one_decision_counts_even_if_two_race(cast: Cast, hat: Piece) -> None:
    decide(cast, hat)
    with pytest.raises(IntegrityError), transaction.atomic():
        WearDecision.objects.create(piece=hat, decision="wear", decided_on=DAY, decided_by_name="Bo")


@pytest.mark.parametrize("state", ["untested", "suspected", "confirmed"])
@pytest.mark.parametrize("hazard", ["mercury", "old_poison", "asbestos", "radium"])
def test_a_hazard_that_reaches_the_wearer_beats_the_decision(cast: Cast, hat: Piece, hazard: str, state: str) -> None:
    decide(cast, hat)
    find(cast, hat, hazard, state)
    assert len(wear_blockers(hat)) == 1
    assert state in wear_blockers(hat)[0]
    find(cast, hat, hazard, "cleared", note="XRF, five points")
    assert wear_blockers(hat) == ()


@pytest.mark.parametrize("hazard", ["lead", "battery", "glass", "protected_species"])
def test_other_hazards_are_cautions_and_not_blockers(cast: Cast, hat: Piece, hazard: str) -> None:
    decide(cast, hat)
    find(cast, hat, hazard, "confirmed")
    assert wear_blockers(hat) == ()
    assert care_facts(hat)["cautions"]


def test_a_material_alone_blocks_until_a_test_clears_it(cast: Cast) -> None:
    film = world.production(cast)
    felt = world.piece(cast, film, kind="hat", name="Felt hat", materials=["fur felt"])
    decide(cast, felt)
    assert "mercury in the felt: untested" in wear_blockers(felt)[0]
    find(cast, felt, "mercury", "cleared", note="XRF, no mercury")
    assert wear_blockers(felt) == ()
    old = world.piece(
        cast, film, number="ABC-0002", name="Cape", kind="cloak", materials=["rabbit fur"], made_year=1920
    )
    new = world.piece(cast, film, number="ABC-0003", name="Cape", kind="cloak", materials=["rabbit fur"])
    decide(cast, old)
    decide(cast, new)
    assert wear_blockers(old), "made in 1920, so its fur may be poisoned"
    assert not wear_blockers(new), "made for a production of 2001"


def test_unknown_materials_and_a_damaged_pack_block(cast: Cast) -> None:
    film = world.production(cast)
    bare = world.piece(cast, film, materials=[])
    decide(cast, bare)
    assert wear_blockers(bare) == ("Its materials are not recorded, so nobody can tell what is in it.",)
    lamp = world.piece(cast, film, number="ABC-0002", name="Lamp helmet", kind="helmet", materials=["resin"])
    decide(cast, lamp)
    pack = actions.record_pack(by=cast.archivist, piece=lamp, chemistry="lithium_ion", energy_wh=28.8, state="damaged")
    assert wear_blockers(lamp) == ("Its power pack is swollen, leaking or damaged: isolate it first.",)
    assert care_facts(lamp)["cautions"][0].name == "damaged pack"
    actions.record_pack(by=cast.archivist, piece=lamp, pack=pack, state="damaged", removed_on=DAY)
    assert wear_blockers(lamp) == ()
    assert newest(lamp).verb == "pack removed"
    assert newest(lamp).before["pack"]["energy_wh"] == "28.80"


def test_many_pieces_are_judged_in_five_queries(cast: Cast, django_assert_num_queries: Any) -> None:
    film = world.production(cast)
    for n in range(1, 9):
        piece = world.piece(cast, film, number=f"ABC-000{n}", materials=["fur felt" if n % 2 else "wool"])
        decide(cast, piece)
    pieces = list(Piece.objects.select_related("production"))
    with django_assert_num_queries(5):
        states = wear_state(pieces)
    assert [states[piece.pk].may_be_worn for piece in pieces] == [False, True] * 4
    with django_assert_num_queries(4):
        assert len(untested_pieces(Piece.objects.all())) == 4


# --- hazards ----------------------------------------------------------------------------------------------------------
def test_a_hazard_is_not_cleared_without_saying_how(cast: Cast, hat: Piece) -> None:
    find(cast, hat, "Old poison", "untested")
    with pytest.raises(Refused, match="how it was tested") as refused:
        find(cast, hat, "old_poison", "cleared", note="  ")
    assert refused.value.field == "note"
    find(cast, hat, "old_poison", "cleared", note="XRF, clean")
    assert newest(hat).before == {"hazard": "old_poison", "hazard_state": "untested"}
    assert [row.state for row in hat.hazards.filter(current=True)] == ["cleared"]
    assert hat.hazards.count() == 2


def test_what_waits_for_a_test_is_listed(cast: Cast, hat: Piece) -> None:
    felt = world.piece(cast, hat.production, number="ABC-0002", kind="hat", materials=["fur felt"])
    find(cast, hat, "old_poison", "untested")
    find(cast, hat, "lead", "suspected")
    waiting = dict(untested_pieces(Piece.objects.all()))
    assert waiting == {hat: ("old poison in fur, feather or skin",), felt: ("mercury in felt",)}
    find(cast, hat, "old_poison", "cleared", note="XRF")
    find(cast, felt, "mercury", "confirmed")
    assert untested_pieces(Piece.objects.all()) == [], "a confirmed one no longer waits"


# --- work -------------------------------------------------------------------------------------------------------------
def test_a_treatment_goes_step_by_step(cast: Cast, hat: Piece) -> None:
    work = actions.need_treatment(by=cast.archivist, piece=hat, what="new band", days=2)
    with pytest.raises(WrongState, match="is needed"):
        actions.finish_treatment(by=cast.archivist, treatment=work, done_on=DAY)
    actions.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)
    with pytest.raises(WrongValues, match="on or after the day it started"):
        actions.finish_treatment(by=cast.archivist, treatment=work, done_on=date(2024, 5, 5))
    work.refresh_from_db()
    assert work.state == "started"
    actions.finish_treatment(by=cast.archivist, treatment=work, done_on=DAY)
    assert newest(hat).verb == "treatment done"
    assert newest(hat).before["treatment_state"] == "started"


def test_quarantine_opens_once_and_is_released_by_the_archivist(cast: Cast, hat: Piece) -> None:
    span = {"opened_on": DAY, "due_on": date(2024, 5, 20), "reason": "moth seen"}
    actions.open_quarantine(by=cast.set_costumer, piece=hat, **span)  # type: ignore[arg-type]
    with pytest.raises(Refused, match="in quarantine already"):
        actions.open_quarantine(by=cast.archivist, piece=hat, **span)  # type: ignore[arg-type]
    with pytest.raises(IntegrityError), transaction.atomic():
        Quarantine.objects.create(piece=hat, **span)
    with pytest.raises(NotAllowed):
        actions.release_quarantine(by=cast.set_costumer, piece=hat, released_on=DAY)
    with pytest.raises(WrongValues, match="on or after its first day"):
        actions.release_quarantine(by=cast.archivist, piece=hat, released_on=date(2024, 5, 1))
    actions.release_quarantine(by=cast.archivist, piece=hat, released_on=DAY, findings="no insects")
    assert newest(hat).reason == "no insects"
    with pytest.raises(WrongState, match="not in quarantine"):
        actions.release_quarantine(by=cast.archivist, piece=hat, released_on=DAY)
    with pytest.raises(WrongValues, match="on or after its first day"):
        actions.open_quarantine(by=cast.archivist, piece=hat, opened_on=DAY, due_on=date(2024, 5, 1), reason="x")


def test_an_alteration_is_undone_once(cast: Cast, hat: Piece) -> None:
    told = {"what": "padded", "point": "head", "change_mm": -10, "done_on": DAY, "done_by_name": "Bo"}
    row = actions.alter(by=cast.wardrobe_lead, piece=hat, undo_by=date(2024, 6, 1), **told)  # type: ignore[arg-type]
    assert newest(hat).after["alteration"] == {"what": "padded", "point": "head", "change_mm": -10}
    actions.undo_alteration(by=cast.archivist, alteration=row, undone_on=DAY)
    with pytest.raises(WrongState, match="undone before"):
        actions.undo_alteration(by=cast.archivist, alteration=row, undone_on=DAY)
    with pytest.raises(Refused, match="no point"):
        actions.alter(by=cast.archivist, piece=hat, **{**told, "point": "ear"})  # type: ignore[arg-type]


def test_who_may_not_does_nothing(cast: Cast, hat: Piece) -> None:
    for person in (cast.wardrobe_lead, cast.production, cast.set_costumer, cast.visitor):
        for act in (
            lambda by: actions.report_condition(by=by, piece=hat, grade=1),
            lambda by: actions.decide_wear(by=by, piece=hat, decision="wear", decided_on=DAY, decided_by_name="me"),
            lambda by: actions.find_hazard(
                by=by, piece=hat, hazard="lead", state="cleared", note="x", found_on=DAY, found_by_name="me"
            ),
            lambda by: actions.record_pack(by=by, piece=hat),
            lambda by: actions.need_treatment(by=by, piece=hat, what="x"),
            lambda by: actions.release_quarantine(by=by, piece=hat, released_on=DAY),
        ):
            with pytest.raises(NotAllowed):
                act(person)
    for person in (cast.production, cast.visitor):
        with pytest.raises(NotAllowed):
            actions.open_quarantine(by=person, piece=hat, opened_on=DAY, due_on=DAY, reason="x")
        with pytest.raises(NotAllowed):
            actions.alter(by=person, piece=hat, what="x", done_on=DAY, done_by_name="me")
    assert [line.verb for line in history.lines_of(hat.subject)] == ["recorded"]


def test_the_care_sheet_takes_a_fixed_number_of_queries(cast: Cast, hat: Piece, django_assert_num_queries: Any) -> None:
    def fill(n: int) -> None:
        find(cast, hat, f"house hazard {n}", "suspected")
        actions.need_treatment(by=cast.archivist, piece=hat, what=f"work {n}")
        actions.record_pack(by=cast.archivist, piece=hat)
        actions.report_condition(by=cast.archivist, piece=hat, grade=2, marks=[MarkSeen("rim", "tear")] * n)

    fill(1)
    decide(cast, hat)
    with django_assert_num_queries(20):
        care_facts(hat)
    for n in (2, 3, 4):
        fill(n)
    with django_assert_num_queries(20):
        assert len(care_facts(hat)["packs"]) == 4


def test_a_closed_day_moves_the_day_on_which_pest_work_is_ready(cast: Cast, hat: Piece) -> None:
    row = actions.need_treatment(by=cast.archivist, piece=hat, what="low oxygen", days=3, day_kind="working")
    actions.start_treatment(by=cast.archivist, treatment=row, started_on=date(2026, 7, 22))
    (open_,) = pest_work_of([hat.pk])[hat.pk]
    HouseSetting.objects.create(key="house.closed_days", value=["2026-07-23"])
    (moved,) = pest_work_of([hat.pk])[hat.pk]
    assert (open_.due, moved.due) == (date(2026, 7, 27), date(2026, 7, 28))
