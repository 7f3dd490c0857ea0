"""A plan to begin with, found by taking the performers one after the other: never the best for sure, always valid."""

from itertools import product

import numpy as np
from scipy.optimize import linear_sum_assignment

from catalog.fitting.calc.plan_model import Model, chosen_columns
from catalog.fitting.calc.plan_pairs import Bools, Ints
from catalog.fitting.calc.plan_types import Assignment, Role
from catalog.fitting.calc.survey import Floats

# Of the match values that a wearer's groups could take together, at most so many are tried.
MOST_CHOICES = 200


def first_plan(model: Model, locked: set[str]) -> tuple[Assignment, ...]:
    """The better of two: everybody one by one, or first as many as can be in whole sets and then the others."""
    one_by_one = greedy(model, locked)
    whole = _whole_first(model)
    if not whole:
        return one_by_one
    sets = {piece.code: piece.set_code for piece in model.problem.pieces}

    def worth(lines: tuple[Assignment, ...]) -> tuple[int, int, int, int]:
        worn: dict[str, set[str | None]] = {}
        for line in lines:
            worn.setdefault(line.wearer, set()).add(sets[line.piece] if line.piece is not None else None)
        made = sum(line.piece is None for line in lines)
        one_set = sum(len(found) == 1 and None not in found for found in worn.values())
        return len(worn.keys() & locked), len(worn), -made, one_set

    return max(one_by_one, greedy(model, locked, whole), key=worth)


def _whole_first(model: Model) -> tuple[int, ...]:
    """Whole columns that can all be one: as many wearers as can each have a set, of those the best fitting."""
    wholes, problem = model.wholes, model.problem
    if not len(wholes.outfit) or wholes.tied:
        return ()
    outfits = np.array(model.pairs.outfits, dtype=np.int64)[wholes.outfit]
    score = wholes.direct.T @ model.pairs.score
    owner_of = wholes.set_number * len(problem.roles) + outfits[:, 1]  # a set may dress one wearer in each role
    table = np.zeros((len(problem.wearers), int(owner_of.max()) + 1))
    matching = np.array([_matches(model, column) for column in range(len(owner_of))], dtype=np.bool_)
    worth = score + float(score.max() + 1) * len(problem.wearers)
    table[outfits[matching, 0], owner_of[matching]] = worth[matching]
    rows, columns = linear_sum_assignment(table, maximize=True)
    taken = set(zip(rows.tolist(), columns.tolist(), strict=True))
    left = [role.need for role in problem.roles]
    chosen = []
    for column, ((who, role), owner) in enumerate(zip(outfits.tolist(), owner_of.tolist(), strict=True)):
        if (who, owner) in taken and left[role] > 0 and matching[column]:
            taken.remove((who, owner))
            left[role] -= 1
            chosen.append(column)
    return tuple(chosen)


def _matches(model: Model, column: int) -> bool:
    """Whether the pieces that a whole column stands for share the values that their groups ask for."""
    problem, pairs = model.problem, model.pairs
    role = problem.roles[pairs.outfits[int(model.wholes.outfit[column])][1]]
    if not role.groups:
        return True
    members = model.wholes.direct[:, [column]].nonzero()[0]
    worn = {pairs.place_slot[pairs.place[pair]]: problem.pieces[pairs.piece[pair]] for pair in members.tolist()}
    return all(len({worn[slot].values[group.name] for slot in group.slots}) == 1 for group in role.groups)


def greedy(model: Model, locked: set[str], wholes: tuple[int, ...] = ()) -> tuple[Assignment, ...]:
    """Locked wearers first, then those with the fewest pieces to choose from; each takes the best that is left.

    `wholes`: whole columns to begin with.
    """
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

    for column in wholes:
        outfit = int(model.wholes.outfit[column])
        who, role = pairs.outfits[outfit]
        dressed.add(who)
        left[role] -= 1
        for pair in model.wholes.direct[:, [column]].nonzero()[0].tolist():
            free[pairs.piece[pair]] = False
            worn = problem.pieces[pairs.piece[pair]].code
            names = problem.wearers[who].code, problem.roles[role].code, pairs.place_slot[pairs.place[pair]]
            found.append(Assignment(*names, worn))
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
