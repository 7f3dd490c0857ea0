"""The best plan for everyone at once, exact.

Most people dressed, then fewest pieces made, then most performers in one whole set, then best fit.

The order holds by construction: each aim is solved on its own, its value becomes a condition, and the next aim follows.
Locks come before all of it. No weights are traded against each other.
"""

from catalog.fitting.calc.plan_model import Model, Solver, build
from catalog.fitting.calc.plan_reasons import left_out
from catalog.fitting.calc.plan_types import AimResult, Assignment, Make, Plan, Problem
from catalog.fitting.calc.shortage import limits

KEPT = "locks kept"
DRESSED = "people dressed"
MADE = "pieces made"
WHOLE = "in one whole set"
FIT = "fit"


def plan(problem: Problem, *, time_limit_s: float | None = None) -> Plan:
    """The best plan, with its limits and a true reason for everybody left out.

    Locks are kept first (a lock is only kept when its wearer is dressed). `gap` is 0 when every aim is proven best;
    with a time limit for each aim it may be more. Raises PlanError for locks that contradict each other or the fits.
    """
    model = build(problem)
    solver = Solver(model, time_limit_s=time_limit_s)
    aims = []
    if model.kept:
        aims.append(solver.reach(KEPT, [(column, 1.0) for column in model.kept], ties=False))
    aims.append(solver.reach(DRESSED, [(column, 1.0) for column in model.plays.values()], ties=False))
    aims.append(solver.reach(MADE, [(column, 1.0) for column in model.made.values()], most=False))
    aims.append(solver.reach(WHOLE, [(column, 1.0) for column in model.whole.values()]))
    aims.append(solver.reach(FIT, list(model.scores.items())))
    return _answer(problem, model, solver, tuple(aims))


def _answer(problem: Problem, model: Model, solver: Solver, aims: tuple[AimResult, ...]) -> Plan:
    """Read the columns that are one back into words of the problem."""
    one = {column for column in range(solver.size) if solver.values[column] > 0.5}
    assignments = _assignments(problem, model, one)
    playing = {wearer: role for (wearer, role), column in model.plays.items() if column in one}
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
        limits=limits(problem),
        make=tuple(Make(line.role, line.slot, line.wearer) for line in assignments if line.piece is None),
        aims=aims,
        gap=max((aim.gap for aim in aims), default=0.0),
    )


def _assignments(problem: Problem, model: Model, one: set[int]) -> tuple[Assignment, ...]:
    """Every worn or made piece, in the order of roles, wearers and slots of the problem."""
    pieces = {piece.code: piece for piece in problem.pieces}
    found = []
    for (wearer, code), column in model.wears.items():
        if column in one:
            found.append(Assignment(wearer, pieces[code].role, pieces[code].slot, code))
    for (wearer, role, slot), column in model.made.items():
        if column in one:
            found.append(Assignment(wearer, role, slot, None))
    roles = {role.code: number for number, role in enumerate(problem.roles)}
    slots = {(role.code, slot): number for role in problem.roles for number, slot in enumerate(role.slots)}
    people = {wearer.code: number for number, wearer in enumerate(problem.wearers)}
    found.sort(key=lambda line: (roles[line.role], people[line.wearer], slots[line.role, line.slot]))
    return tuple(found)
