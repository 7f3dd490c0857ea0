"""Which tape next: it follows from the pieces and from what is known, and turns when they change."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.fitting.calc.bands import Span, Wearable
from catalog.fitting.calc.body import POINTS, Layer, Measure, Person, Shape, body_of
from catalog.fitting.calc.joint import rack_of, shares_of
from catalog.fitting.calc.next_tape import doubt, next_tape, open_pieces

CARD = (Measure("height", 1760, Layer.CARD), Measure("weight", 81_000, Layer.CARD))
MAN = Person(CARD, Shape.M)


def coat(chest: int) -> Wearable:
    return Wearable((Span("chest", "", chest - 40, chest + 40), Span("waist_natural", "", None, chest - 60)), ())


def breeches(waist: int) -> Wearable:
    return Wearable((Span("waist_natural", "", waist - 25, waist + 25), Span("inside_leg", "", 800, 900)), ())


def boot(foot: int) -> Wearable:
    return Wearable((Span("foot_length", "", foot - 4, foot + 4),), ())


COATS = [coat(chest) for chest in range(960, 1100, 15)]
BREECHES = [breeches(waist) for waist in range(820, 960, 15)]
BOOTS = [boot(foot) for foot in range(255, 290, 5)]


def taped(person: Person, **sizes: int) -> Person:
    tapes = tuple(Measure(point, value, Layer.TAPED) for point, value in sizes.items())
    return Person((*person.measures, *tapes), person.shape, person.age_years)


@pytest.mark.parametrize(("pieces", "point"), [(COATS, "chest"), (BREECHES, "waist_natural"), (BOOTS, "foot_length")])
def test_the_answer_turns_with_the_pieces(pieces: list[Wearable], point: str) -> None:
    found = next_tape(MAN, rack_of(pieces), POINTS)
    assert found.open_now >= 5
    assert found.gains[0].point == point
    assert found.gains[0].settled > 0.9 * found.open_now


def test_it_turns_when_one_rail_outgrows_the_other() -> None:
    few, many = [*COATS, *BOOTS[:2]], [*COATS[:2], *BOOTS]
    assert next_tape(MAN, rack_of(few), POINTS).gains[0].point == "chest"
    assert next_tape(MAN, rack_of(many), POINTS).gains[0].point == "foot_length"


def test_what_is_taped_is_not_asked_again_and_the_next_one_comes() -> None:
    rail = rack_of([*COATS, *BOOTS])
    first = next_tape(MAN, rail, POINTS).gains[0].point
    second = next_tape(taped(MAN, chest=1030), rail, POINTS)
    assert (first, second.gains[0].point) == ("chest", "foot_length")
    assert "chest" not in [gain.point for gain in second.gains]


def test_with_every_size_taped_there_is_nothing_to_ask() -> None:
    sizes = {"chest": 1030, "waist_natural": 880, "foot_length": 270, "inside_leg": 850}
    found = next_tape(taped(MAN, **sizes), rack_of([*COATS, *BREECHES, *BOOTS]), POINTS)
    assert (found.open_now, found.gains) == (0, ())


def test_an_unmeasured_piece_and_one_that_fits_anybody_are_never_open() -> None:
    untold = Wearable((Span("chest", "", 1000, 1080),), ("back",))
    found = next_tape(MAN, rack_of([untold, None, Wearable((), ())]), POINTS)
    assert (found.open_now, found.gains) == (0, ())
    assert next_tape(MAN, rack_of([]), POINTS).gains == ()


def test_a_size_on_the_card_is_still_worth_a_tape() -> None:
    carded = Person((*CARD, Measure("chest", 1030, Layer.CARD)), Shape.M)
    assert next_tape(carded, rack_of(COATS), POINTS).gains[0].point == "chest"


def test_nothing_open_still_names_what_would_be_surest() -> None:
    likely = [Wearable((Span("chest", "", 950, 1110),), ())]
    found = next_tape(MAN, rack_of(likely), POINTS)
    assert (found.open_now, found.gains[0].point, found.gains[0].settled) == (0, "chest", 0)


def test_the_settled_count_comes_true_on_the_model_itself() -> None:
    """Take the tape on each of the 512 possible bodies: as many pieces are settled as was promised."""
    rail = rack_of(COATS)
    found = next_tape(MAN, rail, POINTS)
    body = body_of(MAN)
    was_open = open_pieces(shares_of(body, rail).share)
    settled = []
    for value in body.draws["chest"][::8]:
        share = shares_of(body_of(taped(MAN, chest=int(value))), rail).share
        settled.append((was_open & ~open_pieces(share)).sum())
    assert found.gains[0].settled == pytest.approx(np.mean(settled), abs=0.35)


def test_under_18_the_last_missing_tape_settles_and_nothing_is_guessed() -> None:
    minor = Person((*CARD, Measure("waist_natural", 830, Layer.TAPED)), Shape.EITHER, 16)
    found = next_tape(minor, rack_of([*COATS[:3], *BREECHES[:2], *BOOTS[:1]]), POINTS)
    assert found.open_now == 6
    assert [(gain.point, gain.settled) for gain in found.gains] == [
        ("chest", 3.0),
        ("inside_leg", 2.0),
        ("foot_length", 1.0),
    ]
    untouched = Person(CARD, Shape.EITHER, 16)
    assert next_tape(untouched, rack_of(COATS[:2]), POINTS).gains[0].settled == 0


@given(st.permutations(range(8)))
@settings(max_examples=8)
def test_the_order_of_the_pieces_means_nothing(order: list[int]) -> None:
    rail = [*COATS[2:6], *BOOTS[1:5]]
    straight = next_tape(MAN, rack_of(rail), ("chest", "hip", "foot_length"))
    mixed = next_tape(MAN, rack_of([rail[place] for place in order]), ("chest", "hip", "foot_length"))
    assert [gain.point for gain in mixed.gains] == [gain.point for gain in straight.gains]
    assert mixed.gains[0].settled == pytest.approx(straight.gains[0].settled)


def test_doubt_is_nothing_for_a_plain_answer() -> None:
    assert doubt(np.array([0.0, 1.0, np.nan])) == 0.0
    assert doubt(np.array([0.5, 0.5])) == 0.5
