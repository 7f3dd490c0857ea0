"""Counting outfits with nobody measured, against plain enumeration."""

from collections import Counter
from itertools import product

import numpy as np
from hypothesis import given, seed, settings
from hypothesis import strategies as st

from catalog.fitting.calc.counts import set_counts
from catalog.fitting.calc.plan_types import Group, PlanPiece, Role


def store_of(number: int) -> tuple[Role, list[PlanPiece]]:
    """Up to 3 slots, 9 pieces and 2 match groups of two slots each."""
    rng = np.random.default_rng(number)
    slots = ("top", "low", "hat")[: int(rng.integers(2, 4))]
    groups = tuple(
        Group(name, tuple(str(slot) for slot in rng.choice(slots, size=2, replace=False)))
        for name in ("g", "h")[: int(rng.integers(0, 3))]
    )
    role = Role("R", int(rng.integers(0, 5)), slots, groups)
    pieces = []
    for count in range(int(rng.integers(2, 10))):
        slot = slots[count % len(slots)]
        values = {group.name: str(rng.choice(["A", "B"])) for group in role.groups_of(slot)}
        owner = str(rng.choice(["", "s1", "s2"]))
        pieces.append(PlanPiece(f"p{count}", "R", slot, owner or None, values))
    return role, pieces


def stores() -> st.SearchStrategy[tuple[Role, list[PlanPiece]]]:
    return st.integers(0, 1_000_000).map(store_of)


def most(role: Role, pieces: list[PlanPiece]) -> int:
    """Take one outfit out of the pile in every way, and go on with the rest."""
    piles = Counter((p.slot, tuple(sorted(p.values.items()))) for p in pieces)

    def go(left: Counter[tuple[str, tuple[tuple[str, str], ...]]]) -> int:
        best = 0
        choices = [[key for key, n in left.items() if n and key[0] == slot] for slot in role.slots]
        for outfit in product(*choices):
            fine = all(
                len({dict(values)[g.name] for slot, values in outfit if slot in g.slots}) <= 1 for g in role.groups
            )
            if fine:
                best = max(best, 1 + go(left - Counter(outfit)))
        return best

    return go(piles)


@given(store=stores())
@seed(1)
@settings(max_examples=120)
def test_mixed_outfits_are_the_most_there_can_be(store: tuple[Role, list[PlanPiece]]) -> None:
    role, pieces = store
    found = set_counts(role, pieces)
    assert found.mixed == most(role, pieces)
    assert found.limit.count == found.mixed
    assert found.whole <= found.mixed
    assert found.whole == sum(bool(most(role, [p for p in pieces if p.set_code == code])) for code in ("s1", "s2"))


@given(store=stores())
@seed(2)
@settings(max_examples=60)
def test_making_what_it_names_is_enough_and_nothing_less_is(store: tuple[Role, list[PlanPiece]]) -> None:
    role, pieces = store
    found = set_counts(role, pieces)
    assert found.to_make == sum(found.make.values())
    assert (found.to_make == 0) == (found.mixed >= role.need)
    slots = [slot for slot, count in found.make.items() for _ in range(count)]
    options = [
        [
            PlanPiece(
                f"new{i}", "R", slot, None, dict(zip((g.name for g in role.groups_of(slot)), values, strict=True))
            )
            for values in product("AB", repeat=len(role.groups_of(slot)))
        ]
        for i, slot in enumerate(slots)
    ]
    if found.to_make <= 4:
        assert any(most(role, [*pieces, *new]) >= role.need for new in product(*options))
    for slot in role.slots:
        assert found.make.get(slot, 0) >= role.need - found.per_slot[slot]


def test_the_group_is_named_when_it_is_tighter_than_every_slot() -> None:
    role = Role("R", 4, ("top", "hat"), (Group("dye", ("top", "hat")),))
    pieces = [PlanPiece(f"t{i}", "R", "top", None, {"dye": v}) for i, v in enumerate("AAB")]
    pieces += [PlanPiece(f"h{i}", "R", "hat", None, {"dye": v}) for i, v in enumerate("ABB")]
    found = set_counts(role, pieces)
    assert (found.mixed, found.limit.kind, found.limit.name) == (2, "group", "dye")
    assert "A 1 + B 1" in found.limit.sentence
    assert found.to_make == 2


def test_a_piece_of_unknown_match_counts_in_its_slot_alone() -> None:
    role = Role("R", 1, ("top", "hat"), (Group("dye", ("top", "hat")),))
    found = set_counts(role, [PlanPiece("t", "R", "top", "s"), PlanPiece("h", "R", "hat", "s", {"dye": "A"})])
    assert (found.per_slot["top"], found.mixed, found.whole) == (1, 0, 0)
