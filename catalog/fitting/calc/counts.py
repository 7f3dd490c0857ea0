"""What a store can dress by count alone, with nobody measured: whole sets, mixed outfits, and what is to be made."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from catalog.fitting.calc.plan_types import Limit, PlanError, PlanPiece, Role
from catalog.fitting.calc.shortage import group_bounds, tightest

MAX_COMBINATIONS = 20_000


@dataclass(frozen=True, slots=True)
class SetCounts:
    """Counts for one role.

    whole: sets of which every required slot is there and matches. mixed: the most outfits from any pieces that respects
    the match groups. to_make: the fewest pieces to make for the number wanted, and in which slots.
    """

    whole: int
    whole_sets: tuple[str, ...]
    mixed: int
    per_slot: dict[str, int]
    limit: Limit
    to_make: int
    make: dict[str, int]


def set_counts(role: Role, pieces: Sequence[PlanPiece], *, wanted: int | None = None) -> SetCounts:
    """Count outfits of a role from pieces that are there and for wear. `wanted` is the role's need unless given.

    A piece whose value for a match group is unknown counts in its slot but in no outfit. Raises PlanError when the
    groups have too many combinations of values to count.
    """
    own = [piece for piece in pieces if piece.role == role.code and piece.slot in role.slots]
    matchable = [piece for piece in own if piece.matchable(role)]
    per_slot = {slot: sum(piece.slot == slot for piece in own) for slot in role.slots}
    whole = _whole(role, matchable)
    mixed, _ = _outfits(role, matchable, None)
    target = role.need if wanted is None else wanted
    _, make = _outfits(role, matchable, target)
    limit = tightest(role, per_slot, group_bounds(role, matchable), None, None)
    if mixed < limit.count:
        names = " and ".join(group.name for group in role.groups)
        limit = Limit("group", names, mixed, f"At most {mixed}: the pieces that share {names} do not meet more often.")
    return SetCounts(len(whole), whole, mixed, per_slot, limit, sum(make.values()), make)


def _whole(role: Role, pieces: Sequence[PlanPiece]) -> tuple[str, ...]:
    """Sets that dress somebody alone."""
    by_set: dict[str, dict[str, list[PlanPiece]]] = defaultdict(lambda: defaultdict(list))
    for piece in pieces:
        if piece.set_code is not None:
            by_set[piece.set_code][piece.slot].append(piece)
    return tuple(
        code
        for code, slots in sorted(by_set.items())
        if len(slots) == len(role.slots) and _outfits(role, [p for found in slots.values() for p in found], None)[0]
    )


def _outfits(role: Role, pieces: Sequence[PlanPiece], wanted: int | None) -> tuple[int, dict[str, int]]:
    """The most outfits (wanted None), or the fewest pieces to make per slot for so many.

    An outfit is a combination of one value per group; pieces of a slot serve the combinations that share their values.
    A piece made takes whichever values are needed. Exact: a small whole-number program over the combinations.
    """
    if not role.slots:
        return 0, {}
    combos = _combinations(role, pieces)
    keys: list[tuple[str, tuple[str, ...]]] = []
    stock: Counter[tuple[str, tuple[str, ...]]] = Counter()
    for piece in pieces:
        stock[piece.slot, tuple(piece.values[g.name] for g in role.groups_of(piece.slot))] += 1
    place = {group.name: number for number, group in enumerate(role.groups)}
    for slot in role.slots:
        keys += sorted({(slot, tuple(c[place[g.name]] for g in role.groups_of(slot))) for c in combos})
    rows = {key: number for number, key in enumerate(keys)}
    matrix = np.zeros((len(keys) + 1, len(combos) + len(keys)))
    for column, combo in enumerate(combos):
        matrix[-1, column] = 1
        for slot in role.slots:
            matrix[rows[slot, tuple(combo[place[g.name]] for g in role.groups_of(slot))], column] = 1
    for key, row in rows.items():
        matrix[row, len(combos) + rows[key]] = -1
    most = [float(stock[key]) for key in keys]
    may_make = np.inf if wanted is not None else 0.0
    count = (-np.inf, np.inf) if wanted is None else (float(wanted), float(wanted))
    cost = np.zeros(matrix.shape[1])
    cost[: len(combos)] = -1.0 if wanted is None else 0.0
    cost[len(combos) :] = 0.0 if wanted is None else 1.0
    result = milp(
        cost,
        integrality=np.ones(matrix.shape[1]),
        bounds=Bounds(0, np.concatenate([np.full(len(combos), np.inf), np.full(len(keys), may_make)])),
        constraints=LinearConstraint(matrix, [-np.inf] * len(keys) + [count[0]], [*most, count[1]]),
        options={"mip_rel_gap": 0.0},
    )
    if result.x is None:
        raise PlanError(f"The outfits of {role.code} could not be counted.")
    make: Counter[str] = Counter()
    for (slot, _), row in rows.items():
        make[slot] += round(float(result.x[len(combos) + row]))
    return round(float(np.sum(result.x[: len(combos)]))), {slot: n for slot, n in make.items() if n}


def _combinations(role: Role, pieces: Sequence[PlanPiece]) -> list[tuple[str, ...]]:
    """Every choice of one value per group. A group nobody has a piece of gets one nameless value, for pieces made."""
    values = []
    for group in role.groups:
        found = sorted({piece.values[group.name] for piece in pieces if piece.slot in group.slots})
        values.append(found or [""])
    if np.prod([len(found) for found in values], dtype=np.float64) > MAX_COMBINATIONS:
        raise PlanError(f"The match groups of {role.code} have too many combinations of values to count.")
    return list(product(*values))
