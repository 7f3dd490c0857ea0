"""The plainest correct planners: one whole-number program of everything, nothing left out, nothing tightened.

They are what the planner is measured against, written for themselves. `plain_plan` puts all aims in one sum with
weights that never trade: for a few dozen performers. With hundreds such weights pass what a solver's tolerances hold
(at 400 performers, 8 slots and fits of 100 one dressed performer weighs 4e11), so `plain_aims` solves the same program
once an aim.
"""

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from catalog.desk.bench.measuring import BenchError
from catalog.fitting.calc.fit import Verdict
from catalog.fitting.calc.plan_types import PlanPiece, PlanWearer, Problem, Role
from catalog.fitting.calc.survey import Floats

# Dressed, made, in one whole set, fit: what two planners must agree on.
Values = tuple[int, int, int, int]


@dataclass
class _Program:
    prices: list[int] = field(default_factory=list)
    rows: list[tuple[dict[int, int], float, float]] = field(default_factory=list)
    aims: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    worn: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    scores: dict[int, int] = field(default_factory=dict)

    def column(self, aim: str = "") -> int:
        self.prices.append(0)
        if aim:
            self.aims[aim].append(len(self.prices) - 1)
        return len(self.prices) - 1


def plain_plan(problem: Problem) -> Values:
    """The values of the best plan. Raises BenchError when the solver gives up."""
    program = _everything(problem)
    _weigh(program, most_slots=max((len(role.slots) for role in problem.roles), default=0), problem=problem)
    return _counted(program, _solved(program, np.array(program.prices, dtype=float)))


def plain_aims(problem: Problem) -> Values:
    """The same, one aim after the other on the full program. Raises BenchError when the solver gives up."""
    program = _everything(problem)
    found: list[int] = []
    for aim, sign in (("dressed", 1), ("made", -1), ("whole", 1), ("fit", 1)):
        prices = np.zeros(len(program.prices))
        prices[program.aims[aim]] = sign
        if aim == "fit":
            prices[list(program.scores)] = list(program.scores.values())
        if prices.any():
            found = _solved(program, prices)
            reached = round(sum(prices[column] for column in found))
            terms = {int(column): int(prices[column]) for column in np.nonzero(prices)[0]}
            program.rows.append((terms, reached, np.inf))
    return _counted(program, found)


def _everything(problem: Problem) -> _Program:
    program = _Program()
    plays: dict[tuple[str, str], int] = {}
    stock: dict[tuple[str, str], list[PlanPiece]] = defaultdict(list)
    for piece in problem.pieces:
        stock[piece.role, piece.slot].append(piece)
    for wearer in problem.wearers:
        for role in problem.roles:
            if wearer.may_play(role):
                plays[wearer.code, role.code] = _outfit(program, problem, wearer, role, stock)
    for wearer in problem.wearers:
        own = [column for (who, _), column in plays.items() if who == wearer.code]
        program.rows.append((dict.fromkeys(own, 1), 0, 1))
    for role in problem.roles:
        cast = [column for (_, code), column in plays.items() if code == role.code]
        program.rows.append((dict.fromkeys(cast, 1), 0, role.need))
    for columns in program.worn.values():
        program.rows.append((dict.fromkeys(columns, 1), 0, 1))
    return program


def _outfit(
    program: _Program,
    problem: Problem,
    wearer: PlanWearer,
    role: Role,
    stock: dict[tuple[str, str], list[PlanPiece]],
) -> int:
    """All columns and rows of one wearer in one role."""
    plays = program.column("dressed")
    by_set: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    values: dict[tuple[str, str], int] = {}
    for slot in role.slots:
        filled = {plays: -1}
        for piece in stock[role.code, slot]:
            fit = problem.fits.get((wearer.code, piece.code))
            if fit is None or fit.verdict is not Verdict.YES or not piece.matchable(role):
                continue
            column = program.column()
            program.scores[column] = fit.score
            program.worn[piece.code].append(column)
            filled[column] = 1
            if piece.set_code is not None:
                by_set[piece.set_code][slot].append(column)
            for group in role.groups_of(slot):
                key = group.name, piece.values[group.name]
                values.setdefault(key, program.column())
                program.rows.append(({column: 1, values[key]: -1}, -1, 0))
        if problem.may_make(wearer.code, role.code, slot):
            filled[program.column("made")] = 1
        program.rows.append((filled, 0, 0))
    for group in role.groups:
        chosen = [column for (name, _), column in values.items() if name == group.name]
        program.rows.append((dict.fromkeys(chosen, 1), 0, 1))
    for slots in by_set.values():
        if len(slots) == len(role.slots):
            whole = program.column("whole")
            for columns in slots.values():
                program.rows.append(({whole: 1} | dict.fromkeys(columns, -1), -1, 0))
    return plays


def _weigh(program: _Program, *, most_slots: int, problem: Problem) -> None:
    """Weights so large that an earlier aim is never sold for a later one."""
    people = len(problem.wearers)
    of_whole = 100 * most_slots * people + 1
    of_made = of_whole * (people + 1)
    of_dressed = of_made * (most_slots * people + 1)
    for aim, weight in (("dressed", of_dressed), ("made", -of_made), ("whole", of_whole)):
        for column in program.aims[aim]:
            program.prices[column] = weight
    for column, score in program.scores.items():
        program.prices[column] = score


def _solved(program: _Program, prices: Floats) -> list[int]:
    """The columns that are one in the best answer."""
    rows = [row for row in program.rows if row[0]]
    entries = [(number, column, factor) for number, row in enumerate(rows) for column, factor in row[0].items()]
    if not entries:
        return []
    lines, columns, factors = zip(*entries, strict=True)
    matrix = csr_array((np.array(factors, dtype=float), (lines, columns)), shape=(len(rows), len(prices)))
    found = milp(
        -prices,
        integrality=np.ones(len(prices)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(matrix, [row[1] for row in rows], [row[2] for row in rows]),
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        raise BenchError("The plain full model was not solved.")
    return [number for number, value in enumerate(found.x) if value > 0.5]


def _counted(program: _Program, found: list[int]) -> Values:
    chosen = set(found)
    dressed, made, whole = (len(chosen.intersection(program.aims[aim])) for aim in ("dressed", "made", "whole"))
    score = sum(value for column, value in program.scores.items() if column in chosen)
    return dressed, made, whole, score
