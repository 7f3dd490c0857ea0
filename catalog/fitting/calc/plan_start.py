"""A plan to begin with, found by taking the performers one after the other: never the best for sure, always valid."""

from itertools import product

import numpy as np

from catalog.fitting.calc.plan_model import Model, chosen_columns
from catalog.fitting.calc.plan_pairs import Bools, Ints
from catalog.fitting.calc.plan_types import Assignment, Role
from catalog.fitting.calc.survey import Floats

# Of the match values that a wearer's groups could take together, at most so many are tried.
MOST_CHOICES = 200


def greedy(model: Model, locked: set[str]) -> tuple[Assignment, ...]:
    """Locked wearers first, then those with the fewest pieces to choose from; each takes the best that is left."""
    problem, pairs = model.problem, model.pairs
    free = np.ones(len(problem.pieces), dtype=np.bool_)
    left = [role.need for role in problem.roles]
    dressed: set[int] = set()
    found: list[Assignment] = []
    may_make = np.zeros(len(pairs.place_slot), dtype=np.bool_)
    may_make[pairs.made] = True
    choices = np.bincount(pairs.place, minlength=len(pairs.place_slot))
    begins = np.searchsorted(pairs.place, np.arange(len(pairs.place_slot) + 1))

    def scarce(outfit: int) -> tuple[bool, int, int]:
        own = slice(pairs.first_place[outfit], pairs.first_place[outfit + 1])
        counts = np.where(may_make[own] & (choices[own] == 0), len(problem.pieces), choices[own])
        return problem.wearers[pairs.outfits[outfit][0]].code not in locked, int(counts.min(initial=0)), outfit

    for outfit in sorted(range(len(pairs.outfits)), key=scarce):
        who, role = pairs.outfits[outfit]
        if who in dressed or left[role] <= 0:
            continue
        taken = _outfit(model, outfit, problem.roles[role], free, may_make, begins)
        if taken is None:
            continue
        dressed.add(who)
        left[role] -= 1
        for place, pair in taken:
            code = None if pair is None else problem.pieces[pairs.piece[pair]].code
            if pair is not None:
                free[pairs.piece[pair]] = False
            found.append(Assignment(problem.wearers[who].code, problem.roles[role].code, pairs.place_slot[place], code))
    return _without_refused(model, found)


def _outfit(
    model: Model, outfit: int, role: Role, free: Bools, may_make: Bools, begins: Ints
) -> list[tuple[int, int | None]] | None:
    """(place, pair or None for a made piece): fewest made, then best fit, over the values the groups could take."""
    pairs, problem = model.pairs, model.problem
    places = range(pairs.first_place[outfit], pairs.first_place[outfit + 1])
    open_pairs = {
        place: [p for p in range(begins[place], begins[place + 1]) if free[pairs.piece[p]]] for place in places
    }
    values = []
    for group in role.groups:
        own = {
            problem.pieces[pairs.piece[pair]].values[group.name]
            for place in places
            if pairs.place_slot[place] in group.slots
            for pair in open_pairs[place]
        }
        values.append(sorted(own) or [""])
    best: tuple[int, int] | None = None
    taken: list[tuple[int, int | None]] | None = None
    for number, choice in enumerate(product(*values)):
        if number >= MOST_CHOICES:
            break
        lines: list[tuple[int, int | None]] = []
        made = score = 0
        for place in places:
            wanted = [
                (group.name, value)
                for group, value in zip(role.groups, choice, strict=True)
                if pairs.place_slot[place] in group.slots
            ]
            fitting = [
                pair
                for pair in open_pairs[place]
                if all(problem.pieces[pairs.piece[pair]].values[name] == value for name, value in wanted)
            ]
            if fitting:
                pair = max(fitting, key=lambda one: pairs.score[one])
                score += int(pairs.score[pair])
                lines.append((place, pair))
            elif may_make[place]:
                made += 1
                lines.append((place, None))
        if len(lines) == len(places) and (best is None or (made, -score) < best):
            best, taken = (made, -score), lines
    return taken


def _without_refused(model: Model, found: list[Assignment]) -> tuple[Assignment, ...]:
    """Undress one wearer of each list of choices that may not all be taken, should they all be."""
    lines = found
    for refused in model.problem.not_all:
        people = {(line.wearer, line.role) for line in lines}
        if set(refused.choices) <= set(lines) and set(refused.people) <= people:
            out = [line.wearer for line in refused.choices] + [wearer for wearer, _ in refused.people]
            lines = [line for line in lines if line.wearer != out[0]] if out else lines
    return tuple(lines)


def encoded(model: Model, lines: tuple[Assignment, ...]) -> Floats:
    """A plan as the model's columns."""
    problem, pairs = model.problem, model.pairs
    values = np.zeros(model.size)
    people = dict.fromkeys((line.wearer, line.role) for line in lines)
    plays, wears, made = chosen_columns(problem, pairs, lines, people)
    values[plays] = 1
    values[model.starts[2] + made] = 1
    worn = np.zeros(len(pairs.piece))
    worn[wears] = 1
    values[model.block(1)] = worn
    _choose_values(model, values)
    direct = model.wholes.direct
    covered = direct.T @ worn
    size = np.asarray(direct.sum(axis=0)).ravel()
    ties: dict[int, bool] = {}
    for column, members in model.wholes.tied:
        ties[column] = ties.get(column, True) and bool(worn[members].any())
    for column in np.nonzero((covered == size) & (values[model.wholes.outfit] > 0))[0].tolist():
        if ties.get(column, True):
            values[model.starts[3] + column] = 1
            members = direct[:, [column]].nonzero()[0]
            values[model.starts[1] + members] = 0
    return values


def _choose_values(model: Model, values: Floats) -> None:
    """Set each chosen match value that a worn piece asks for: the only rows that a plan of pairs can still break."""
    sums = model.matrix @ values
    over = np.nonzero(sums > model.high + 1e-9)[0]
    if len(over):
        start = model.starts[4]
        rows = model.matrix[over].tocsc()[:, start:]
        lines, columns = rows.nonzero()
        wanted = columns[np.asarray(rows[lines, columns]).ravel() < 0]
        values[start + np.unique(wanted)] = 1
