"""The plainest correct planner: one whole-number program, all aims in one sum with weights that never trade.

It is what the planner is measured against, written for itself: no order of aims, nothing left out, nothing tightened.
"""

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from catalog.desk.bench.measuring import BenchError
from catalog.fitting.calc.fit import Verdict
from catalog.fitting.calc.plan_types import PlanWearer, Problem, Role

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
    program = _Program()
    plays: dict[tuple[str, str], int] = {}
    for wearer in problem.wearers:
        for role in problem.roles:
            if wearer.may_play(role):
                plays[wearer.code, role.code] = _outfit(program, problem, wearer, role)
    for wearer in problem.wearers:
        own = [column for (who, _), column in plays.items() if who == wearer.code]
        program.rows.append((dict.fromkeys(own, 1), 0, 1))
    for role in problem.roles:
        cast = [column for (_, code), column in plays.items() if code == role.code]
        program.rows.append((dict.fromkeys(cast, 1), 0, role.need))
    for columns in program.worn.values():
        program.rows.append((dict.fromkeys(columns, 1), 0, 1))
    return _solved(program, most_slots=max((len(role.slots) for role in problem.roles), default=0), problem=problem)


def _outfit(program: _Program, problem: Problem, wearer: PlanWearer, role: Role) -> int:
    """All columns and rows of one wearer in one role."""
    plays = program.column("dressed")
    by_set: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    values: dict[tuple[str, str], int] = {}
    for slot in role.slots:
        filled = {plays: -1}
        for piece in problem.pieces:
            fit = problem.fits.get((wearer.code, piece.code))
            fits = fit is not None and fit.verdict is Verdict.YES
            if (piece.role, piece.slot) != (role.code, slot) or not fits or not piece.matchable(role):
                continue
            column = program.column()
            program.scores[column] = fit.score if fit is not None else 0
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


def _solved(program: _Program, *, most_slots: int, problem: Problem) -> Values:
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
    rows = [row for row in program.rows if row[0]]
    entries = [(number, column, factor) for number, row in enumerate(rows) for column, factor in row[0].items()]
    if not entries:
        return 0, 0, 0, 0
    lines, columns, factors = zip(*entries, strict=True)
    matrix = csr_array((np.array(factors, dtype=float), (lines, columns)), shape=(len(rows), len(program.prices)))
    found = milp(
        -np.array(program.prices, dtype=float),
        integrality=np.ones(len(program.prices)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(matrix, [row[1] for row in rows], [row[2] for row in rows]),
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        raise BenchError("The plain full model was not solved.")
    chosen = {number for number, value in enumerate(found.x) if value > 0.5}
    counted = {aim: len(chosen.intersection(program.aims[aim])) for aim in ("dressed", "made", "whole")}
    score = sum(value for column, value in program.scores.items() if column in chosen)
    return counted["dressed"], counted["made"], counted["whole"], score
