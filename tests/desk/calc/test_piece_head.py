"""Head, act, days and travel of a piece's page never contradict each other: every standing by every wear decision."""

from datetime import date
from itertools import product
from typing import Any

import pytest

from catalog.care.calc.apart import KeptApart, PestWork
from catalog.care.calc.wear import Wear
from catalog.desk.calc.piece_head import Act, Known, head_of

DAY = date(2026, 11, 20)
FREEZE = PestWork("freeze", DAY, 14)
STANDINGS = ("in store", "out", "at treatment", "not found", "")
KEPT = {
    "nothing": KeptApart(),
    "quarantine": KeptApart((), DAY, "moth seen"),
    "pest work": KeptApart((FREEZE,)),
    "both": KeptApart((FREEZE,), DAY, "moth seen"),
}
LOANS = ("", "pulled", "out", "on set", "back", "quarantined")
EVERY = list(product(STANDINGS, Wear, KEPT, LOANS))


def known(state: str, wear: Wear, kept: str, loan_state: str = "", **more: Any) -> Known:
    return Known("tall hat", state, wear, KEPT[kept], "L-1" if loan_state else "", loan_state, **more)


@pytest.mark.parametrize(("state", "wear", "kept", "loan"), EVERY)
def test_no_two_sections_contradict(state: str, wear: Wear, kept: str, loan: str) -> None:
    head = head_of(known(state, wear, kept, loan))
    missing, apart = state == "not found", kept != "nothing"
    assert head.answer.startswith("Tall hat")
    assert head.answer.endswith(".")
    # What cannot be pulled is not free, does not travel, and is not simply moved.
    if missing or apart:
        assert head.not_free
        assert head.no_travel.startswith("Not while")
        assert head.act not in {Act.MOVE, Act.PLACE, Act.LOAN, Act.NONE}
    if missing:
        assert head.answer == "Tall hat is missing."
        assert head.act is Act.FOUND
        assert "worn" not in head.answer
    elif apart:
        assert "in store" not in head.answer
        assert ("in quarantine" in head.answer) is (kept != "pest work")
        assert ("pest work" in head.answer) is (kept != "quarantine")
        assert (head.act is Act.WORK) is (kept != "quarantine")
        assert ("pest work “freeze” is under way, due 4 Dec 2026." in head.lead) is (kept != "quarantine")
        assert (" once it is released." in head.lead or " once the pest work is done." in head.lead) is (
            wear is not Wear.NO
        )
        assert ("not for wear" in head.lead) is (wear is Wear.NO)
        assert bool(head.wear_note) is (wear is not Wear.NO)
    # Nobody is told that something not for wear may be worn.
    assert ("not for wear" in head.answer + head.lead) is (wear is Wear.NO and not missing)


@pytest.mark.parametrize(
    ("facts", "answer", "act"),
    [
        (("in store", Wear.YES, "nothing"), "Tall hat: in store, may be worn.", Act.MOVE),
        (("in store", Wear.NO, "nothing"), "Tall hat: in store, not for wear.", Act.MOVE),
        (
            ("in store", Wear.YES, "quarantine"),
            "Tall hat: in quarantine until 20 Nov 2026.",
            Act.RELEASE,
        ),
        (
            ("in store", Wear.LIMITS, "quarantine", "quarantined"),
            "Tall hat: in quarantine until 20 Nov 2026.",
            Act.PUT_AWAY,
        ),
        (
            ("in store", Wear.NO, "pest work"),
            "Tall hat: kept where it is, pest work is open.",
            Act.WORK,
        ),
        (
            ("at treatment", Wear.REPAIR, "both"),
            "Tall hat: in quarantine until 20 Nov 2026, pest work is open.",
            Act.WORK,
        ),
        (
            ("at treatment", Wear.YES, "nothing"),
            "Tall hat: at treatment, may be worn once it is back.",
            Act.MOVE,
        ),
        (("out", Wear.YES, "nothing", "on set"), "Tall hat: on set with L-1, may be worn.", Act.LOAN),
        (("in store", Wear.YES, "nothing", "pulled"), "Tall hat: pulled for L-1, may be worn.", Act.LOAN),
        (
            ("in store", Wear.YES, "nothing", "quarantined"),
            "Tall hat: back from L-1 and not put away yet, may be worn.",
            Act.PUT_AWAY,
        ),
        (("out", Wear.YES, "nothing"), "Tall hat: out, may be worn.", Act.NONE),
        (("", Wear.YES, "nothing"), "Tall hat: not placed yet, may be worn.", Act.PLACE),
    ],
)
def test_the_head_says_it_in_one_sentence(facts: tuple[Any, ...], answer: str, act: Act) -> None:
    head = head_of(known(*facts))
    assert (head.answer, head.act) == (answer, act)


def test_a_missing_piece_says_since_when_and_who_saw_it_last() -> None:
    head = head_of(
        known(
            "not found",
            Wear.YES,
            "nothing",
            lost_with="trunk 14",
            missing_since=date(2026, 3, 2),
            last_seen=date(2024, 5, 6),
            last_seen_by="Bo",
            last_place="rack 2 (A-2)",
        )
    )
    assert head.answer == "Tall hat is missing, not found since 2 Mar 2026."
    assert head.lead == "Last surely seen 6 May 2024 by Bo, rack 2 (A-2). It was lost with trunk 14."
    never = head_of(known("not found", Wear.YES, "nothing"))
    assert never.lead == "Nobody has surely seen it since it was recorded."


def test_a_piece_in_a_lost_trunk_is_missing_even_if_its_own_row_says_in_store() -> None:
    head = head_of(known("in store", Wear.YES, "nothing", lost_with="trunk 14"))
    assert (head.act, head.answer, head.not_free) == (Act.PLACE, "Tall hat is missing.", "It is missing.")


def test_what_is_kept_apart_says_when_it_may_be_worn() -> None:
    head = head_of(known("in store", Wear.REPAIR, "both"))
    assert head.lead == (
        "The pest work “freeze” is under way, due 4 Dec 2026. It may be worn after its repair once it is released."
    )
    assert head.wear_note == "It may be worn after its repair, not before it is released."


def test_what_is_not_known_to_be_there_is_not_free() -> None:
    assert "does not count as free" in head_of(known("", Wear.YES, "nothing")).not_free
