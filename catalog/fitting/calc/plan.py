"""The best plan for everyone at once, exact.

Most people dressed, then fewest pieces made, then most performers in one whole original set, then (in roles seen in
close-up) most originals, then best fit.

The order holds by construction: each aim is solved on its own, its value becomes a condition, and the next aim follows.
Locks come before all of it. No weights are traded against each other.
"""

from collections.abc import Callable

import numpy as np

from catalog.fitting.calc.plan_cost import DRESSED, FIT, MADE, ORIGINALS, WHOLE
from catalog.fitting.calc.plan_locks import check_locks
from catalog.fitting.calc.plan_model import Model, build, most_whole
from catalog.fitting.calc.plan_originals import remakes
from catalog.fitting.calc.plan_pairs import fitting
from catalog.fitting.calc.plan_reasons import left_out
from catalog.fitting.calc.plan_solve import Solver
from catalog.fitting.calc.plan_start import encoded, first_plan
from catalog.fitting.calc.plan_types import AimResult, Assignment, Limit, Make, Plan, Problem, Progress
from catalog.fitting.calc.shortage import limits
from catalog.fitting.calc.survey import Floats

__all__ = ["DRESSED", "FIT", "KEPT", "MADE", "ORIGINALS", "WHOLE", "plan"]

KEPT = "locks kept"

# Crowds above this many are stopped after LIMIT_S seconds unless the asker says otherwise; a multitude, which is seldom
# proven, sooner.
CROWD = 100
LIMIT_S = 120.0
MULTITUDE = 1000
MULTITUDE_LIMIT_S = 20.0


def plan(
    problem: Problem, *, time_limit_s: float | None = None, progress: Callable[[Progress], None] | None = None
) -> Plan:
    """The best plan, with its limits and a true reason for everybody left out.

    Locks are kept first (a lock is only kept when its wearer is dressed). `gap` is 0 when every aim is proven best.
    Above CROWD performers the search ends after LIMIT_S seconds if nothing else is asked; then, as with any time limit,
    the best plan so far comes back, each aim with the bound that no plan can pass. `progress` is told each step.
    Raises PlanError for locks that contradict each other or the fits.
    """
    locks = check_locks(problem)
    locked = {wearer for wearer, _ in locks}
    people = len(problem.wearers)
    if time_limit_s is None and people > CROWD:
        time_limit_s = LIMIT_S if people <= MULTITUDE else MULTITUDE_LIMIT_S
    found = fitting(problem)
    model = build(problem, locks, found)
    reachable = limits(problem, found)
    start = encoded(model, first_plan(model, locked))
    solver = Solver(model, start, time_limit_s=time_limit_s, progress=progress)
    return _answer(problem, model, solver, _aims(model, solver, locked, reachable), reachable)


def _aims(model: Model, solver: Solver, locked: set[str], reachable: dict[str, Limit]) -> tuple[AimResult, ...]:
    """Reach each aim in turn. What is known of a bound beforehand spares the proof where a plan meets it."""
    problem, pairs = model.problem, model.pairs
    aims = []
    if locked:
        aims.append(solver.reach(KEPT, model.count(plays=model.played(locked)), at_most=len(locked), ties=False))
    everybody = model.count(plays=range(len(pairs.outfits)))
    able = len({who for who, _ in pairs.outfits})
    room = sum(
        role.need if problem.with_making else min(role.need, reachable[role.code].count) for role in problem.roles
    )
    dressed = solver.reach(DRESSED, everybody, at_most=min(able, room), ties=False)
    aims.append(dressed)
    aims.append(solver.reach(MADE, model.count(made=1.0), at_most=0, most=False))
    aims.append(solver.reach(WHOLE, model.count(whole=1.0), at_most=min(dressed.bound, most_whole(model))))
    slots = max((len(role.slots) for role in problem.roles), default=0)
    originals = _originals(model)
    if originals is not None:
        aims.append(solver.reach(ORIGINALS, originals, at_most=slots * dressed.bound))
    best = _best_scores(model)
    aims.append(solver.reach(FIT, model.count(pairs=pairs.score.astype(np.float64)), at_most=best))
    return tuple(aims)


def _originals(model: Model) -> Floats | None:
    """Counts every known original worn in a role seen in close-up; None when no role is."""
    problem = model.problem
    close = {role.code for role in problem.roles if role.close_up}
    if not close:
        return None
    counts = np.array([piece.original and piece.role in close for piece in problem.pieces], dtype=np.float64)
    return model.count(pairs=counts[model.pairs.piece])


def _best_scores(model: Model) -> int:
    """More than all the fit scores of a plan can sum to: the best of every piece."""
    best = np.zeros(len(model.problem.pieces), dtype=np.int64)
    np.maximum.at(best, model.pairs.piece, model.pairs.score)
    return int(best.sum())


def _answer(
    problem: Problem, model: Model, solver: Solver, aims: tuple[AimResult, ...], reachable: dict[str, Limit]
) -> Plan:
    """Read the columns that are one back into words of the problem."""
    assignments = _assignments(model, solver.values)
    playing = {line.wearer: line.role for line in assignments}
    sets = {piece.code: piece.set_code for piece in problem.pieces}
    worn: dict[str, set[str | None]] = {wearer: set() for wearer in playing}
    for line in assignments:
        worn[line.wearer].add(sets[line.piece] if line.piece is not None else None)
    whole = {wearer for wearer, found in worn.items() if len(found) == 1 and None not in found}
    codes = [role.code for role in problem.roles]
    dressed = {code: sum(role == code for role in playing.values()) for code in codes}
    return Plan(
        assignments=assignments,
        dressed=dressed,
        whole_sets={code: sum(playing[wearer] == code for wearer in whole) for code in codes},
        total=len(playing),
        left_out=left_out(problem, assignments, dressed),
        limits=reachable,
        make=tuple(Make(line.role, line.slot, line.wearer) for line in assignments if line.piece is None),
        aims=aims,
        gap=max((aim.gap for aim in aims), default=0.0),
        remakes=remakes(problem, assignments),
    )


def _assignments(model: Model, values: Floats) -> tuple[Assignment, ...]:
    """Every worn or made piece, in the order of roles, wearers and slots of the problem."""
    problem, pairs = model.problem, model.pairs
    worn = values[model.block(1)] + model.wholes.direct @ values[model.block(3)]
    found = [(int(pairs.place[pair]), problem.pieces[pairs.piece[pair]].code) for pair in np.nonzero(worn > 0.5)[0]]
    made = [(int(place), None) for place in pairs.made[values[model.block(2)] > 0.5]]
    lines = []
    place_outfit = pairs.place_outfit
    for place, code in (*found, *made):
        who, role = pairs.outfits[place_outfit[place]]
        lines.append((role, who, place, code))
    lines.sort(key=lambda line: line[:3])
    return tuple(
        Assignment(problem.wearers[who].code, problem.roles[role].code, pairs.place_slot[place], code)
        for role, who, place, code in lines
    )
