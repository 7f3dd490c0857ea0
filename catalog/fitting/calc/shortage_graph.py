"""Who can wear which pieces of one slot, as a graph, and the largest number that can have one each."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from catalog.fitting.calc.plan_pairs import Fitting, Ints, fitting
from catalog.fitting.calc.plan_types import Problem, Role


@dataclass(frozen=True, slots=True, eq=False)
class SlotGraph:
    """Rows are the wearers who may play the role, columns the slot's pieces (both as places in the problem's tuples).

    `partner`: per wearer the column of a piece in one largest matching, -1 for those who go without.
    """

    wearers: Ints
    pieces: Ints
    fits: csr_array
    scores: csr_array
    partner: Ints

    @property
    def matched(self) -> int:
        """The most wearers who can have one of the pieces each."""
        return int(np.count_nonzero(self.partner >= 0))

    @property
    def deficiency(self) -> int:
        return len(self.wearers) - self.matched

    def crowded(self) -> tuple[Ints, Ints]:
        """Wearers and pieces (rows, columns): all whom the chain of those who go without reaches.

        They are exactly `deficiency` more than the pieces that any of them could wear (Hall, 1935; König, 1931).
        """
        holder = np.full(len(self.pieces), -1, dtype=np.int64)
        taken = np.nonzero(self.partner >= 0)[0]
        holder[self.partner[taken]] = taken
        rows = set(np.nonzero(self.partner < 0)[0].tolist())
        columns: set[int] = set()
        waiting = list(rows)
        while waiting:
            row = waiting.pop()
            for column in self.fits.indices[self.fits.indptr[row] : self.fits.indptr[row + 1]].tolist():
                if column not in columns:
                    columns.add(column)
                    # In a largest matching every piece that is reached this way is worn by somebody.
                    other = int(holder[column])
                    if other not in rows:
                        rows.add(other)
                        waiting.append(other)
        return np.array(sorted(rows), dtype=np.int64), np.array(sorted(columns), dtype=np.int64)


def slot_graphs(problem: Problem, found: Fitting | None = None) -> dict[tuple[Role, str], SlotGraph]:
    """One graph a slot of a role, in the problem's order (`found`: the pairs, if they were collected already)."""
    who, piece, score = found or fitting(problem)
    stock: dict[tuple[str, str], list[int]] = {}
    for number, one in enumerate(problem.pieces):
        stock.setdefault((one.role, one.slot), []).append(number)
    graphs = {}
    for role in problem.roles:
        able = np.array([n for n, wearer in enumerate(problem.wearers) if wearer.may_play(role)], dtype=np.int64)
        row_of = _places(able, len(problem.wearers))
        for slot in role.slots:
            own = np.array(stock.get((role.code, slot), []), dtype=np.int64)
            column_of = _places(own, len(problem.pieces))
            here = (row_of[who] >= 0) & (column_of[piece] >= 0)
            rows, columns = row_of[who[here]], column_of[piece[here]]
            shape = (len(able), len(own))
            fits = csr_array((np.ones(len(rows), dtype=np.int8), (rows, columns)), shape=shape)
            scores = csr_array((score[here] + 1, (rows, columns)), shape=shape)
            graphs[role, slot] = SlotGraph(able, own, fits, scores, _largest(fits))
    return graphs


def _places(chosen: Ints, size: int) -> Ints:
    """Per number its place among the chosen, -1 for the others."""
    found = np.full(size, -1, dtype=np.int64)
    found[chosen] = np.arange(len(chosen))
    return found


def _largest(fits: csr_array) -> Ints:
    if 0 in fits.shape:
        return np.full(fits.shape[0], -1, dtype=np.int64)
    return np.asarray(maximum_bipartite_matching(fits, perm_type="column"), dtype=np.int64)
