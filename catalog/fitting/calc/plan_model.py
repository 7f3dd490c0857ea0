"""The planner's question as a linear program of yes/no columns: who plays what, who wears which piece, what is made.

Columns, in this order: plays (one an outfit), wears (one a pair), made, whole, and chosen match values. A `whole`
column stands for an outfit taken from one set: it fills every place for which the set has one candidate by itself, so
it needs no rows of its own there; only where a set has two pieces for one slot a row ties it to the pair that is worn.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csc_array, csr_array, hstack, vstack
from scipy.sparse.csgraph import maximum_bipartite_matching

from catalog.fitting.calc.plan_pairs import Bools, Fitting, Ints, Pairs, pairs_of
from catalog.fitting.calc.plan_types import Assignment, Lock, Problem
from catalog.fitting.calc.survey import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Wholes:
    """Outfits that one set can fill alone. `direct`: pairs (rows) that a whole column (columns) stands for itself."""

    outfit: Ints
    set_number: Ints
    direct: csc_array
    tied: tuple[tuple[int, Ints], ...]  # whole column, the pairs of one slot of which one must be worn


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """low <= matrix @ x <= high with 0 <= x <= 1; `starts` are the first columns of the five blocks, and the end."""

    problem: Problem
    pairs: Pairs
    wholes: Wholes
    starts: tuple[int, ...]
    integral: Ints
    matrix: csc_array
    low: Floats
    high: Floats

    @property
    def size(self) -> int:
        return self.starts[-1]

    def block(self, number: int) -> slice:
        return slice(self.starts[number], self.starts[number + 1])

    def count(
        self, *, plays: Iterable[int] = (), pairs: Floats | None = None, made: float = 0, whole: float = 0
    ) -> Floats:
        """The sum to aim at, as a factor per column; what counts for a pair counts for the whole column of it too."""
        found = np.zeros(self.size)
        found[list(plays)] = 1.0
        if pairs is not None:
            found[self.block(1)] = pairs
            found[self.block(3)] = self.wholes.direct.T @ pairs
        found[self.block(2)] += made
        found[self.block(3)] += whole
        return found

    def played(self, wearers: Iterable[str]) -> list[int]:
        """The plays columns of these wearers."""
        wanted = set(wearers)
        return [n for n, (who, _) in enumerate(self.pairs.outfits) if self.problem.wearers[who].code in wanted]


def build(problem: Problem, locks: Mapping[tuple[str, str], Lock], found: Fitting | None = None) -> Model:
    """Every column and row of the problem (`found`: the pairs that fit, if they were collected already)."""
    pairs = pairs_of(problem, locks, found)
    wholes = _wholes(problem, pairs)
    rows = _Rows(len(pairs.outfits), len(pairs.piece), len(pairs.made), wholes)
    places = len(pairs.place_slot)
    rows.add(
        places,
        0,
        0,
        plays=(np.arange(places), pairs.place_outfit, -1.0),
        wears=(pairs.place, np.arange(len(pairs.place)), 1.0),
        made=(pairs.made, np.arange(len(pairs.made)), 1.0),
    )
    rows.add(len(problem.pieces), -np.inf, 1, wears=(pairs.piece, np.arange(len(pairs.piece)), 1.0))
    who = np.array([who for who, _ in pairs.outfits], dtype=np.int64)
    role = np.array([role for _, role in pairs.outfits], dtype=np.int64)
    every = np.arange(len(pairs.outfits))
    rows.add(len(problem.wearers), -np.inf, 1, plays=(who, every, 1.0))
    rows.add(len(problem.roles), -np.inf, [role.need for role in problem.roles], plays=(role, every, 1.0))
    for number, one in enumerate(problem.roles):
        for group in one.groups:
            _match(rows, problem, pairs, number, group.name, group.slots)
    _not_all(rows, problem, pairs)
    for column, members in wholes.tied:
        rows.tie(column, members)
    matrix, low, high = rows.finished()
    sizes = (len(pairs.outfits), len(pairs.piece), len(pairs.made), len(wholes.outfit), rows.chosen)
    starts = (0, *np.cumsum(sizes).tolist())
    integral = np.ones(starts[-1], dtype=np.int64)
    # With whole pairs the chosen match values are whole by themselves.
    integral[starts[4] :] = 0
    return Model(problem, pairs, wholes, starts, integral, matrix, low, high)


Entries = tuple[Ints, Ints, float]  # rows within the block, columns within theirs, factor


class _Rows:
    """Blocks of rows under construction."""

    def __init__(self, outfits: int, pairs: int, made: int, wholes: Wholes) -> None:
        self.sizes = (outfits, pairs, made)
        self.wholes = wholes
        self.chosen = 0
        self.blocks: list[tuple[int, dict[str, Entries]]] = []
        self.ends: list[tuple[Floats, Floats]] = []
        self.ties: list[tuple[int, Ints]] = []

    def add(self, number: int, low: float, high: float | list[int], **entries: Entries) -> None:
        """low <= sum <= high for each of `number` rows; entries by block: plays, wears, made, chosen."""
        self.blocks.append((number, entries))
        self.ends.append((np.full(number, float(low)), np.broadcast_to(np.asarray(high, dtype=np.float64), number)))

    def tie(self, column: int, members: Ints) -> None:
        """A whole column is one only if a member is worn."""
        self.ties.append((column, members))

    def finished(self) -> tuple[csc_array, Floats, Floats]:
        outfits, pairs, made = self.sizes
        parts = []
        for number, entries in self.blocks:
            wears = _sparse(entries.get("wears"), number, pairs)
            parts.append(
                hstack(
                    [
                        _sparse(entries.get("plays"), number, outfits),
                        wears,
                        _sparse(entries.get("made"), number, made),
                        wears @ self.wholes.direct,
                        _sparse(entries.get("chosen"), number, self.chosen),
                    ]
                )
            )
        tied = len(self.ties)
        if tied:
            lines = np.repeat(np.arange(tied), [len(members) for _, members in self.ties])
            worn = np.concatenate([members for _, members in self.ties])
            columns = np.array([column for column, _ in self.ties])
            parts.append(
                hstack(
                    [
                        _sparse(None, tied, outfits),
                        _sparse((lines, worn, -1.0), tied, pairs),
                        _sparse(None, tied, made),
                        _sparse((np.arange(tied), columns, 1.0), tied, len(self.wholes.outfit)),
                        _sparse(None, tied, self.chosen),
                    ]
                )
            )
            self.ends.append((np.full(tied, -np.inf), np.zeros(tied)))
        low = np.concatenate([low for low, _ in self.ends])
        high = np.concatenate([high for _, high in self.ends])
        return csc_array(vstack(parts)), low, high


def _sparse(entries: Entries | None, rows: int, columns: int) -> csc_array:
    if entries is None:
        return csc_array((rows, columns))
    lines, places, factor = entries
    return csc_array(coo_array((np.full(len(lines), factor), (lines, places)), shape=(rows, columns)))


def _match(rows: _Rows, problem: Problem, pairs: Pairs, role: int, name: str, slots: tuple[str, ...]) -> None:
    """Slots of a group take one value an outfit. A made piece takes whichever is chosen, so it needs no row."""
    of_role = np.array([which == role for _, which in pairs.outfits], dtype=np.bool_)
    in_group = np.array([slot in slots for slot in pairs.place_slot], dtype=np.bool_)
    here = np.nonzero(of_role[pairs.outfit] & in_group[pairs.place])[0]
    if not len(here):
        return
    value = _values(problem, name)[pairs.piece[here]]
    base = len(problem.pieces)
    choice, choice_of = np.unique(pairs.outfit[here] * base + value, return_inverse=True)
    first = rows.chosen
    rows.chosen += len(choice)
    outfits, line = np.unique(choice // base, return_inverse=True)
    each = np.arange(len(choice))
    rows.add(len(outfits), -np.inf, 0, plays=(np.arange(len(outfits)), outfits, -1.0), chosen=(line, first + each, 1.0))
    filled, seen, filled_of = np.unique(pairs.place[here] * base + value, return_index=True, return_inverse=True)
    lines = np.arange(len(filled))
    chosen = (lines, first + choice_of[seen], -1.0)
    rows.add(len(filled), -np.inf, 0, wears=(filled_of, here, 1.0), chosen=chosen)


def _values(problem: Problem, name: str) -> Ints:
    """A number per piece for its value in a match group."""
    numbers: dict[str, int] = {}
    found = [numbers.setdefault(piece.values.get(name, ""), len(numbers)) for piece in problem.pieces]
    return np.array(found, dtype=np.int64)


def _not_all(rows: _Rows, problem: Problem, pairs: Pairs) -> None:
    """Of each list of choices at least one is not taken. A choice that is not open any more is not taken anyway."""
    for refused in problem.not_all:
        plays, wears, made = chosen_columns(problem, pairs, refused.choices, refused.people)
        if len(plays) + len(wears) + len(made) == len(refused.choices) + len(refused.people):
            most = len(refused.choices) + len(refused.people) - 1
            one = {
                block: (np.zeros(len(columns), dtype=np.int64), columns, 1.0)
                for block, columns in (("plays", plays), ("wears", wears), ("made", made))
            }
            rows.add(1, -np.inf, most, **one)


def chosen_columns(
    problem: Problem, pairs: Pairs, choices: Iterable[Assignment], people: Iterable[tuple[str, str]] = ()
) -> tuple[Ints, Ints, Ints]:
    """Columns within plays (of `people`: wearer, role), wears and made (of `choices`)."""
    outfits = {
        (problem.wearers[who].code, problem.roles[role].code): number
        for number, (who, role) in enumerate(pairs.outfits)
    }
    pieces = {piece.code: number for number, piece in enumerate(problem.pieces)}
    places = {
        (number, pairs.place_slot[place]): place
        for number in range(len(pairs.outfits))
        for place in range(pairs.first_place[number], pairs.first_place[number + 1])
    }
    wears, made = [], []
    for line in choices:
        place = places.get((outfits.get((line.wearer, line.role), -1), line.slot), -1)
        if line.piece is None:
            at = np.searchsorted(pairs.made, place)
            if at < len(pairs.made) and pairs.made[at] == place:
                made.append(at)
        else:
            begin, end = np.searchsorted(pairs.place, [place, place + 1])
            inside = np.nonzero(pairs.piece[begin:end] == pieces.get(line.piece, -1))[0]
            wears += [begin + at for at in inside]
    plays = [outfits[key] for key in people if key in outfits]
    return np.array(plays, dtype=np.int64), np.array(wears, dtype=np.int64), np.array(made, dtype=np.int64)


def _wholes(problem: Problem, pairs: Pairs) -> Wholes:
    """Every (outfit, set) in which the set has a candidate for each place."""
    numbers: dict[str, int] = {}
    of_piece = np.array(
        [-1 if p.set_code is None else numbers.setdefault(p.set_code, len(numbers)) for p in problem.pieces],
        dtype=np.int64,
    )
    base = max(1, len(numbers))
    owner = of_piece[pairs.piece]
    at = np.nonzero(owner >= 0)[0]
    cell, cell_of, in_cell = np.unique(
        pairs.place[at] * base + owner[at], return_inverse=True, return_counts=True
    )  # a cell is a (place, set)
    keys, key_of_cell, cells = np.unique(
        pairs.place_outfit[cell // base] * base + cell % base, return_inverse=True, return_counts=True
    )
    outfit = keys // base
    full: Bools = cells == np.diff(pairs.first_place)[outfit]
    column_of_cell = np.where(full, np.cumsum(full) - 1, -1)[key_of_cell]
    column = column_of_cell[cell_of]
    direct = (column >= 0) & (in_cell[cell_of] == 1)
    shape = (len(pairs.piece), int(full.sum()))
    matrix = csc_array(coo_array((np.ones(int(direct.sum())), (at[direct], column[direct])), shape=shape))
    several = np.nonzero((column_of_cell >= 0) & (in_cell > 1))[0]
    tied = tuple((int(column_of_cell[one]), at[cell_of == one]) for one in several)
    return Wholes(outfit[full], (keys % base)[full], matrix, tied)


def most_whole(model: Model) -> int:
    """A bound on the outfits from one whole set: each wearer has one, and a set with one piece a slot dresses one.

    (One in each role, should a set hold pieces of several.)
    """
    wholes = model.wholes
    if not len(wholes.outfit):
        return 0
    if wholes.tied:
        return len(model.problem.wearers)
    outfits = np.array(model.pairs.outfits, dtype=np.int64)[wholes.outfit]
    owner = wholes.set_number * len(model.problem.roles) + outfits[:, 1]
    shape = (len(model.problem.wearers), int(owner.max()) + 1)
    ones = np.ones(len(owner), dtype=np.int8)
    graph = csr_array(coo_array((ones, (outfits[:, 0], owner)), shape=shape))
    return int(np.count_nonzero(maximum_bipartite_matching(graph, perm_type="column") >= 0))
