"""Originals before remakes where the shot is close: which pieces are no originals all the same, and why."""

from collections.abc import Iterable

from catalog.fitting.calc.fit import Verdict
from catalog.fitting.calc.plan_types import Assignment, PlanPiece, Problem, Remake, Role


def remakes(problem: Problem, assignments: Iterable[Assignment]) -> tuple[Remake, ...]:
    """Every piece of a role seen in close-up that is not known to be an original, with the reason, in plan order."""
    close = {role.code: role for role in problem.roles if role.close_up}
    lines = list(assignments)
    worn = {line.piece: line.wearer for line in lines if line.piece is not None}
    pieces = {piece.code: piece for piece in problem.pieces}
    found = []
    for line in lines:
        role = close.get(line.role)
        if role is None or (line.piece is not None and pieces[line.piece].original):
            continue
        what = "is to be made" if line.piece is None else f"{line.piece} is not known to be an original"
        why = _why(problem, role, line, pieces, worn, lines)
        found.append(Remake(line, f"{problem.word(line.slot)}: {what}; {why}."))
    return tuple(found)


def _why(
    problem: Problem,
    role: Role,
    line: Assignment,
    pieces: dict[str, PlanPiece],
    worn: dict[str, str],
    lines: list[Assignment],
) -> str:
    """The first thing that every original of the slot fails at: being there, fitting, being free, matching."""
    there = [piece for piece in problem.pieces if (piece.role, piece.slot) == (line.role, line.slot) and piece.original]
    if not there:
        return "no original is free for this call"
    fitting = []
    for piece in there:
        fit = problem.fits.get((line.wearer, piece.code))
        if fit is not None and fit.verdict is Verdict.YES:
            fitting.append(piece)
    if not fitting:
        return f"none of {len(there)} {'original' if len(there) == 1 else 'originals'} is known to fit this performer"
    free = [piece for piece in fitting if piece.code not in worn]
    if not free:
        return f"the {len(fitting)} that would fit {'is' if len(fitting) == 1 else 'are'} worn by others in this plan"
    own = {
        other.slot: pieces[other.piece] for other in lines if other.wearer == line.wearer and other.piece is not None
    }
    for group in role.groups_of(line.slot):
        wanted = {own[slot].values[group.name] for slot in group.slots if slot in own and slot != line.slot}
        if all(piece.values.get(group.name) not in wanted for piece in free) and wanted:
            return f"no free original shares the {problem.word(group.name)} of the other pieces"
    return "people dressed, pieces made and whole sets come before it"
