"""Decisions already taken: whether locks can be kept at all, and what they leave open."""

from collections.abc import Mapping

from catalog.fitting.calc.fit import Verdict
from catalog.fitting.calc.plan_types import Lock, PlanError, PlanPiece, PlanWearer, Problem, Role


def check_locks(problem: Problem) -> dict[tuple[str, str], Lock]:
    """Locks by (wearer, slot). Raises PlanError for locks that contradict each other or that nothing allows."""
    pieces = {piece.code: piece for piece in problem.pieces}
    wearers = {wearer.code: wearer for wearer in problem.wearers}
    roles = {role.code: role for role in problem.roles}
    found: dict[tuple[str, str], Lock] = {}
    taken: set[str] = set()
    role_of: dict[str, str] = {}
    for lock in problem.locks:
        said = f"The lock of {lock.wearer} on {lock.piece or 'a made piece'} ({problem.word(lock.slot)})"
        if role_of.setdefault(lock.wearer, lock.role) != lock.role:
            raise PlanError(f"{said} is in a second role.")
        if (lock.wearer, lock.slot) in found or (lock.piece is not None and lock.piece in taken):
            raise PlanError(f"{said} contradicts another lock.")
        role, wearer = roles.get(lock.role), wearers.get(lock.wearer)
        if role is None or wearer is None or lock.slot not in role.slots or not wearer.may_play(role):
            raise PlanError(f"{said} asks for a wearer, role or slot that this call does not have.")
        if lock.piece is None:
            if not problem.may_make(lock.wearer, lock.role, lock.slot):
                raise PlanError(f"{said} needs a piece to be made, which is not allowed here.")
        else:
            piece = pieces.get(lock.piece)
            fit = problem.fits.get((lock.wearer, lock.piece))
            if piece is None or (piece.role, piece.slot) != (lock.role, lock.slot):
                raise PlanError(f"{said} names a piece that is not free for this call.")
            if fit is None or fit.verdict is not Verdict.YES:
                raise PlanError(f"{said} is not known to fit.")
            taken.add(lock.piece)
        found[lock.wearer, lock.slot] = lock
    return found


def eligible(
    problem: Problem,
    wearer: PlanWearer,
    role: Role,
    locks: Mapping[tuple[str, str], Lock],
    stock: Mapping[tuple[str, str], list[PlanPiece]],
) -> dict[str, list[PlanPiece]] | None:
    """Per slot the pieces the wearer may be given; None when locks hold the wearer to another role."""
    own = [lock for (code, _), lock in locks.items() if code == wearer.code]
    if own and own[0].role != role.code:
        return None
    held = {lock.piece: lock.wearer for lock in locks.values() if lock.piece is not None}
    found: dict[str, list[PlanPiece]] = {slot: [] for slot in role.slots}
    for slot in role.slots:
        lock = locks.get((wearer.code, slot))
        for piece in stock.get((role.code, slot), ()):
            fit = problem.fits.get((wearer.code, piece.code))
            if fit is None or fit.verdict is not Verdict.YES or not piece.matchable(role):
                continue
            if held.get(piece.code, wearer.code) == wearer.code and (lock is None or lock.piece == piece.code):
                found[slot].append(piece)
    return found


def stock_by_slot(problem: Problem) -> dict[tuple[str, str], list[PlanPiece]]:
    """The pieces of each (role, slot), in the problem's order."""
    found: dict[tuple[str, str], list[PlanPiece]] = {}
    for piece in problem.pieces:
        found.setdefault((piece.role, piece.slot), []).append(piece)
    return found


def makes(problem: Problem, wearer: str, role: str, slot: str, locks: Mapping[tuple[str, str], Lock]) -> bool:
    """Whether a piece may be made here: allowed, and no lock on an existing one."""
    lock = locks.get((wearer, slot))
    return problem.may_make(wearer, role, slot) and (lock is None or lock.piece is None)
