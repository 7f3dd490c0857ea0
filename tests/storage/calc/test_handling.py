"""Cautions where the hand is. They are common practice of stores; care names a source where one was found."""

import pytest

from catalog.care.calc.cautions import HAZARDS
from catalog.storage.calc.handling import COLD, TO_TOUCH, Touched, cold_words, handling

BELT = Touched("B-1", {"lead": "confirmed", "heavy": "confirmed"})
CLEAN = Touched("B-2", {"lead": "cleared"})
LAMP = Touched("L-1", {"battery": "confirmed"}, damaged_pack=True)


def test_lead_and_a_damaged_pack_are_told_with_their_pieces() -> None:
    first, second = handling([BELT, CLEAN, LAMP])
    assert (first.name, first.numbers, first.grave) == ("damaged power pack", ("L-1",), True)
    assert "not in the battery cabinet" in first.caution
    assert (second.name, second.numbers) == ("lead", ("B-1",))
    assert "Gloves; wash hands" in second.caution


def test_nothing_to_fear_says_nothing() -> None:
    assert handling([CLEAN, Touched("C-1", {})]) == []


def test_every_hazard_to_touch_has_its_words() -> None:
    assert set(TO_TOUCH) <= set(HAZARDS)


@pytest.mark.parametrize(
    ("tenths", "kind", "cold"),
    [(130, "room", True), (149, "level", True), (150, "room", False), (None, "room", False), (-300, "freezer", False)],
)
def test_nobody_works_alone_in_the_cold(tenths: int | None, kind: str, cold: bool) -> None:
    assert cold_words(tenths, kind) == (COLD if cold else "")
    assert "nobody works in it alone" in COLD
