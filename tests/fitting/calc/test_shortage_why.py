"""Which bodies share too few pieces, and what must be made: against enumeration, and against the plan with making."""

from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest

from catalog.fitting.calc.bands import Band, Scale, eu_to_mm
from catalog.fitting.calc.fit import Fit, Reason, Verdict
from catalog.fitting.calc.plan import plan
from catalog.fitting.calc.plan_types import Make, PlanPiece, PlanWearer, Problem, Role
from catalog.fitting.calc.shortage import shortages
from catalog.fitting.calc.shortage_bands import short_bands
from catalog.fitting.calc.shortage_graph import slot_graphs
from catalog.fitting.calc.shortage_makes import make_counts, make_needs, spec
from tests.fitting.calc.plan_worlds import NO, yes

SLOTS = ("boots", "gloves")


def world(number: int, *, people: int = 7, stock: int = 6) -> tuple[Problem, dict[str, dict[str, int]]]:
    """Feet and hands in mm; a piece fits from its own size down to 20 mm below. Nobody's size is unknown but one's."""
    rng = np.random.default_rng(number)
    sizes = {
        f"w{i}": {"foot_length": int(rng.normal(270, 12)), "hand_girth": int(rng.normal(210, 9))} for i in range(people)
    }
    pieces = tuple(PlanPiece(f"{slot}{i}", "R", slot) for slot in SLOTS for i in range(stock))
    made_for = {piece.code: int(rng.normal(*((275, 9) if piece.slot == "boots" else (215, 6)))) for piece in pieces}
    point = {"boots": "foot_length", "gloves": "hand_girth"}
    fits = {}
    for who, own in sizes.items():
        for piece in pieces:
            spare = made_for[piece.code] - own[point[piece.slot]]
            fits[who, piece.code] = yes(100 - 3 * spare) if 0 <= spare <= 20 else replace(NO, miss=abs(spare))
    wearers = tuple(PlanWearer(who) for who in sizes)
    makeable = frozenset((who, "R", slot) for who in sizes for slot in SLOTS)
    return Problem((Role("R", people, SLOTS),), wearers, pieces, fits, makeable=makeable), sizes


def shared(problem: Problem, slot: str, people: tuple[str, ...]) -> int:
    """How many pieces of a slot any of these people can wear."""
    return sum(
        piece.slot == slot and any(problem.fits[who, piece.code].verdict is Verdict.YES for who in people)
        for piece in problem.pieces
    )


@pytest.mark.parametrize("number", range(12))
def test_the_crowded_people_are_exactly_so_many_too_many(number: int) -> None:
    """Hall's condition by enumeration of every set of people: none is short of more."""
    problem, sizes = world(number)
    for (_, slot), graph in slot_graphs(problem).items():
        worst = max(
            len(some) - shared(problem, slot, some)
            for size in range(len(sizes) + 1)
            for some in combinations(sizes, size)
        )
        rows, columns = graph.crowded()
        people = tuple(problem.wearers[int(graph.wearers[row])].code for row in rows)
        assert graph.deficiency == worst
        assert len(rows) - len(columns) == worst
        assert shared(problem, slot, people) == len(columns)


@pytest.mark.parametrize("number", range(12))
def test_the_band_is_the_worst_of_all_intervals(number: int) -> None:
    problem, sizes = world(number)
    found = {band.slot: band for band in short_bands(problem, sizes)}
    for line in shortages(problem):
        worst = 0
        for point in ("foot_length", "hand_girth"):
            values = sorted(own[point] for own in sizes.values())
            for low, high in product(values, values):
                some = tuple(who for who, own in sizes.items() if low <= own[point] <= high)
                worst = max(worst, len(some) - shared(problem, line.slot, some))
        assert (found[line.slot].missing if line.slot in found else 0) == worst
        if worst:
            band = found[line.slot]
            some = tuple(who for who, own in sizes.items() if band.low <= own[band.point] <= band.high)
            assert (band.people, band.pieces) == (len(some), shared(problem, line.slot, some))
            assert band.missing <= band.deficiency == line.deficiency


def test_the_band_is_said_with_both_numbers() -> None:
    sizes = {"a": {"foot_length": 290}, "b": {"foot_length": 298}, "c": {"foot_length": 260}, "d": {}}
    fits = {("a", "p"): yes(), ("b", "p"): yes(), ("c", "q"): yes()}
    problem = Problem(
        (Role("R", 4, ("boots",)),),
        tuple(PlanWearer(who) for who in sizes),
        (PlanPiece("p", "R", "boots"), PlanPiece("q", "R", "boots")),
        fits,
    )
    (band,) = short_bands(problem, sizes)
    assert (band.low, band.high, band.people, band.pieces, band.missing, band.deficiency) == (290, 298, 2, 1, 1, 2)
    assert band.sentence == "boots: 2 short. 2 performers with foot length 29.0 to 29.8 cm share 1 piece, 1 too few."


def test_nobody_measured_means_no_band_and_still_a_count() -> None:
    problem, _ = world(3)
    assert short_bands(problem, {}) == ()
    assert sum(count.count for count in make_counts(problem)) == sum(line.deficiency for line in shortages(problem))


@pytest.mark.parametrize("number", range(12))
def test_as_many_are_made_as_the_slots_lack_together(number: int) -> None:
    """Without match groups slots do not depend on each other: the plan with making needs exactly the sum."""
    problem, sizes = world(number)
    counts = make_counts(problem)
    answer = plan(replace(problem, with_making=True))
    assert answer.total == len(sizes)
    assert sum(count.count for count in counts) == len(answer.make)
    for count in counts:
        assert len(count.for_whom) == count.count
        gifts = tuple(PlanPiece(f"new {who}", "R", count.slot) for who in count.for_whom)
        fits = {**problem.fits, **{(who, f"new {who}"): yes() for who in count.for_whom}}
        more = replace(problem, pieces=(*problem.pieces, *gifts), fits=fits)
        (line,) = [line for line in shortages(more) if line.slot == count.slot]
        assert line.deficiency == 0


def test_who_may_not_wear_a_new_piece_is_served_first_or_named() -> None:
    problem, _ = world(1, stock=3)
    barred = frozenset(key for key in problem.makeable if key[0] not in ("w0", "w1"))
    graph = slot_graphs(problem)
    for count in make_counts(replace(problem, makeable=barred)):
        assert set(count.barred) == set(count.for_whom) & {"w0", "w1"}
    assert sum(one.deficiency for one in graph.values()) == sum(
        count.count for count in make_counts(replace(problem, makeable=barred))
    )


CHEST = Band("chest", "chest", 40, 100)


@pytest.mark.parametrize(
    ("bands", "sizes", "wanted"),
    [
        ((CHEST,), {"chest": 1000}, ("chest", 1070, 1040, 1100, ())),
        ((CHEST,), {}, ("chest", None, None, None, ("chest",))),
        ((Band("height", "height_min", None, 0),), {"height": 1800}, ("height_min", 1800, None, 1800, ())),
        ((Band("waist", "waist", 0, None),), {"waist": 900}, ("waist", 900, 900, None, ())),
        (
            (Band("head_over_hair", "head", -5, None), Band("head", "head", None, 25)),
            {"head": 570, "head_over_hair": 590},
            ("head", 590, 585, 595, ()),
        ),
        (
            (Band("head_over_hair", "head", 0, None), Band("head", "head", None, 5)),
            {"head": 570, "head_over_hair": 590},
            ("head", None, 590, 575, ()),
        ),
        (
            (Band("foot_length", "last", 0, 2, scale=Scale.EU_SHOE),),
            {"foot_length": 270},
            ("last", eu_to_mm(43), eu_to_mm(43), eu_to_mm(45), ()),
        ),
    ],
)
def test_the_measures_of_a_piece_to_be_made(
    bands: tuple[Band, ...], sizes: dict[str, int], wanted: tuple[object, ...]
) -> None:
    """A foot of 27 cm asks for EU (27 + 1.5) x 1.5 = 42.75, so 43: common practice, no source."""
    (found,) = spec(bands, sizes)
    assert (found.garment_point, found.value, found.low, found.high, found.missing) == wanted


def test_a_piece_is_made_after_the_nearest_original() -> None:
    def miss(by: int) -> Fit:
        return Fit(Verdict.NO, 0.0, 0, Reason.SIZE, ("chest: piece too small by 1.0 cm",), None, by)

    pieces = (
        PlanPiece("copy", "R", "coat"),
        PlanPiece("far", "R", "coat", original=True),
        PlanPiece("near", "R", "coat", original=True),
    )
    fits = {("w", "copy"): miss(5), ("w", "far"): miss(60), ("w", "near"): miss(20)}
    problem = Problem((Role("R", 1, ("coat",)),), (PlanWearer("w"),), pieces, fits)
    asked = {"sizes": {"w": {"chest": 1000}}, "bands": {("R", "coat"): (CHEST,)}}
    make = [Make("R", "coat", "w")]
    (need,) = make_needs(problem, make, **asked)  # type: ignore[arg-type]
    assert (need.reference, need.measures[0].value) == ("near", 1070)
    assert need.after == "after near, the original that comes nearest to fitting"
    (need,) = make_needs(replace(problem, pieces=pieces[:1]), make, **asked)  # type: ignore[arg-type]
    assert need.reference == "copy"
    assert "no original is recorded" in need.after
    (need,) = make_needs(problem, make, sizes={}, bands={}, references=())
    assert (need.reference, need.measures) == (None, ())
