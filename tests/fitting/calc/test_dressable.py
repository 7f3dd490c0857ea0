"""Whom a store can dress by height and weight, against the count with nobody measured and the survey's own medians."""

import numpy as np
import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st

from catalog.fitting.calc.bands import Band, Garment
from catalog.fitting.calc.body import Body, Shape
from catalog.fitting.calc.counts import set_counts
from catalog.fitting.calc.dressable import Stock, dressable, outfits_on, point_of, surveyed
from catalog.fitting.calc.exclusions import Makeup
from catalog.fitting.calc.fit import Candidate
from catalog.fitting.calc.plan_types import Group, PlanError, PlanPiece, Role

CHEST = (Band("chest", "chest", 0, 200),)


def coat(code: str, chest_mm: int | None, *, slot: str = "coat", owner: str | None = None, ring: str = "") -> Stock:
    values = {} if chest_mm is None else {"chest": chest_mm}
    piece = PlanPiece(code, "R", slot, owner, {"ring": ring} if ring else {})
    return Stock(piece, Candidate(code, CHEST, Garment(values), Makeup("coat", frozenset({"wool"}))))


def anybody(code: str, slot: str, *, owner: str | None = None, ring: str = "") -> Stock:
    piece = PlanPiece(code, "R", slot, owner, {"ring": ring} if ring else {})
    return Stock(piece, Candidate(code, (), Garment(), Makeup("hat", frozenset({"felt"}))))


def counted(role: Role, rows: list[Stock], height_mm: int, weight_g: int) -> tuple[int | None, int | None]:
    found = point_of(role, rows, height_mm=height_mm, weight_g=weight_g, shape=Shape.M)
    return found.outfits, found.whole


@pytest.mark.parametrize(
    ("case", "rows", "expected"),
    [
        ("no piece at all", [], (0, 0)),
        ("one that takes such a chest", [coat("a", 1100)], (1, 0)),
        ("one not measured fits nobody", [coat("a", None)], (0, 0)),
        ("one far too small", [coat("a", 800)], (0, 0)),
        ("two at once", [coat("a", 1100), coat("b", 1120)], (2, 0)),
        ("a whole set", [coat("a", 1100, owner="s1")], (1, 1)),
    ],
)
def test_one_slot(case: str, rows: list[Stock], expected: tuple[int, int]) -> None:
    assert counted(Role("R", 9, ("coat",)), rows, 1760, 81_000) == expected


def test_the_scarcest_slot_decides() -> None:
    role = Role("R", 9, ("coat", "hat"))
    rows = [coat("a", 1100), coat("b", 1100), anybody("h", "hat")]
    assert counted(role, rows, 1760, 81_000) == (1, 0)


def test_slots_of_a_match_group_meet_value_by_value() -> None:
    role = Role("R", 9, ("coat", "hat"), (Group("ring", ("coat", "hat")),))
    rows = [coat("a", 1100, ring="A"), coat("b", 1100, ring="A"), anybody("h", "hat", ring="A")]
    rows += [anybody("i", "hat", ring="B")]
    assert counted(role, rows, 1760, 81_000) == (1, 0)
    assert counted(role, [*rows, coat("c", 1100, ring="B")], 1760, 81_000) == (2, 0)
    assert counted(role, [*rows, coat("c", 1100)], 1760, 81_000) == (1, 0), "an unknown value matches nothing"


def test_the_edge_lies_at_the_surveys_middle_value() -> None:
    """A man of 176 cm and 81 kg: chest 103.2 cm in the middle, from ANSUR II (Gordon et al. 2014, NATICK/TR-15/007)
    by regression on logarithms, worked out apart from this program. A coat that ends just above fits half of them."""
    role = Role("R", 9, ("coat",))
    assert counted(role, [coat("a", 1037)], 1760, 81_000) == (1, 0)
    assert counted(role, [coat("a", 1027)], 1760, 81_000) == (0, 0)


def test_nothing_is_said_outside_the_survey() -> None:
    role = Role("R", 9, ("coat",))
    assert counted(role, [coat("a", 1100)], 1500, 125_000) == (None, None)
    assert not surveyed(2000, 50_000, Shape.EITHER)


def test_a_slot_of_two_match_groups_is_refused() -> None:
    role = Role("R", 1, ("coat", "hat"), (Group("g", ("coat", "hat")), Group("h", ("coat", "hat"))))
    with pytest.raises(PlanError, match="two match groups"):
        dressable(role, [], heights_mm=[1700], weights_g=[70_000])


def test_the_grid_runs_light_rows_first_and_short_columns_first() -> None:
    points = dressable(Role("R", 1, ("coat",)), [], heights_mm=[1700, 1750], weights_g=[70_000, 75_000])
    assert [(p.height_mm, p.weight_g) for p in points] == [
        (1700, 70_000), (1750, 70_000), (1700, 75_000), (1750, 75_000),
    ]  # fmt: skip


def store_of(number: int) -> tuple[Role, list[Stock], Body]:
    """A store of chest ranges, one match group or none, and a body whose chest is open."""
    rng = np.random.default_rng(number)
    slots = ("coat", "low", "hat")[: int(rng.integers(1, 4))]
    groups = (Group("ring", slots[:2]),) if len(slots) > 1 and rng.random() < 0.6 else ()
    role = Role("R", 20, slots, groups)
    rows = []
    for count in range(int(rng.integers(1, 12))):
        slot = str(rng.choice(slots))
        ring = str(rng.choice(["A", "B"])) if role.groups_of(slot) else ""
        owner = str(rng.choice(["", "s1", "s2"])) or None
        rows.append(coat(f"p{count}", int(rng.integers(900, 1200)), slot=slot, owner=owner, ring=ring))
    drawn = rng.integers(850, 1150, size=9)
    return role, rows, Body({}, {"chest": drawn})


@given(number=st.integers(0, 1_000_000))
@seed(5)
@settings(max_examples=60)
def test_each_possible_body_is_counted_as_if_it_were_known(number: int) -> None:
    """The planner's whole-number count on the pieces that fit each body, one body at a time, must give the same."""
    role, rows, body = store_of(number)
    each = []
    for chest in body.draws["chest"]:
        fitting = [row.piece for row in rows if 0 <= row.candidate.garment.values["chest"] - chest <= 200]
        found = set_counts(role, fitting)
        each.append((found.mixed, found.whole))
    found = outfits_on(role, rows, body)
    assert found.outfits == sorted((m for m, _ in each), reverse=True)[4]
    assert found.whole == sorted((w for _, w in each), reverse=True)[4]
    assert found.chance == pytest.approx(sum(m > 0 for m, _ in each) / len(each))


@given(number=st.integers(0, 1_000_000))
@seed(6)
@settings(max_examples=40)
def test_one_more_piece_never_dresses_fewer(number: int) -> None:
    role, rows, body = store_of(number)
    more = outfits_on(role, rows, body)
    fewer = outfits_on(role, rows[:-1], body)
    assert (more.outfits >= fewer.outfits, more.whole >= fewer.whole, more.chance >= fewer.chance) == (True,) * 3
