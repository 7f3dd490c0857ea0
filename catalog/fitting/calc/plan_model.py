"""The planner's question as a linear program of yes/no columns: who plays what, who wears which piece, what is made."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from catalog.fitting.calc.fit import Verdict
from catalog.fitting.calc.plan_types import AimResult, Group, Lock, PlanError, PlanPiece, PlanWearer, Problem, Role

Floats = NDArray[np.float64]
Terms = Sequence[tuple[int, float]]


@dataclass(slots=True)
class Model:
    """Columns and rows under construction. Each dict maps a meaning to its column."""

    plays: dict[tuple[str, str], int] = field(default_factory=dict)  # wearer, role
    wears: dict[tuple[str, str], int] = field(default_factory=dict)  # wearer, piece
    made: dict[tuple[str, str, str], int] = field(default_factory=dict)  # wearer, role, slot
    whole: dict[tuple[str, str, str], int] = field(default_factory=dict)  # wearer, role, set
    kept: list[int] = field(default_factory=list)  # plays columns of locked wearers
    scores: dict[int, float] = field(default_factory=dict)
    most_score: dict[str, float] = field(default_factory=dict)  # per piece, over all its wearers
    integral: list[int] = field(default_factory=list)
    rows: list[tuple[Terms, float, float]] = field(default_factory=list)

    def column(self, *, integral: bool = True) -> int:
        self.integral.append(int(integral))
        return len(self.integral) - 1

    def row(self, terms: Terms, low: float, high: float) -> None:
        """low <= sum of factor * column <= high."""
        if terms:
            self.rows.append((terms, low, high))


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
    problem: Problem, wearer: PlanWearer, role: Role, locks: Mapping[tuple[str, str], Lock]
) -> dict[str, list[PlanPiece]] | None:
    """Per slot the pieces the wearer may be given; None when locks hold the wearer to another role."""
    own = [lock for (code, _), lock in locks.items() if code == wearer.code]
    if own and own[0].role != role.code:
        return None
    held = {lock.piece: lock.wearer for lock in locks.values() if lock.piece is not None}
    found: dict[str, list[PlanPiece]] = {slot: [] for slot in role.slots}
    for piece in problem.pieces:
        if piece.role != role.code or piece.slot not in found or not piece.matchable(role):
            continue
        lock = locks.get((wearer.code, piece.slot))
        if held.get(piece.code, wearer.code) != wearer.code or (lock is not None and lock.piece != piece.code):
            continue
        fit = problem.fits.get((wearer.code, piece.code))
        if fit is not None and fit.verdict is Verdict.YES:
            found[piece.slot].append(piece)
    return found


def makes(problem: Problem, wearer: str, role: str, slot: str, locks: Mapping[tuple[str, str], Lock]) -> bool:
    """Whether a piece may be made here: allowed, and no lock on an existing one."""
    lock = locks.get((wearer, slot))
    return problem.may_make(wearer, role, slot) and (lock is None or lock.piece is None)


def build(problem: Problem) -> Model:
    """Every column and row of the problem. Raises PlanError for impossible locks."""
    locks = check_locks(problem)
    model = Model()
    users: dict[str, list[int]] = defaultdict(list)
    for wearer in problem.wearers:
        for role in problem.roles:
            if wearer.may_play(role):
                pieces = eligible(problem, wearer, role, locks)
                if pieces is not None:
                    _one_outfit(model, problem, wearer, role, pieces, locks, users)
    for columns in users.values():
        model.row([(column, 1.0) for column in columns], 0, 1)
    for wearer in problem.wearers:
        model.row([(column, 1.0) for (who, _), column in model.plays.items() if who == wearer.code], 0, 1)
    for role in problem.roles:
        model.row([(column, 1.0) for (_, code), column in model.plays.items() if code == role.code], 0, role.need)
    locked = {wearer for wearer, _ in locks}
    model.kept = [column for (wearer, _), column in model.plays.items() if wearer in locked]
    return model


def _one_outfit(
    model: Model,
    problem: Problem,
    wearer: PlanWearer,
    role: Role,
    pieces: dict[str, list[PlanPiece]],
    locks: Mapping[tuple[str, str], Lock],
    users: dict[str, list[int]],
) -> None:
    """Columns and rows for one wearer in one role; nothing when a slot can never be filled."""
    made = {slot for slot in role.slots if makes(problem, wearer.code, role.code, slot, locks)}
    if any(not pieces[slot] and slot not in made for slot in role.slots):
        return
    plays = model.plays[wearer.code, role.code] = model.column()
    for slot in role.slots:
        terms = [(plays, -1.0)]
        for piece in pieces[slot]:
            column = model.wears[wearer.code, piece.code] = model.column()
            score = model.scores[column] = float(problem.fits[wearer.code, piece.code].score)
            model.most_score[piece.code] = max(score, model.most_score.get(piece.code, 0.0))
            users[piece.code].append(column)
            terms.append((column, 1.0))
        if slot in made:
            column = model.made[wearer.code, role.code, slot] = model.column()
            terms.append((column, 1.0))
        model.row(terms, 0, 0)
    for group in role.groups:
        _match(model, wearer.code, plays, group, pieces)
    _whole_sets(model, wearer.code, role, pieces)


def _match(model: Model, wearer: str, plays: int, group: Group, pieces: dict[str, list[PlanPiece]]) -> None:
    """Slots of a group take one value. A made piece takes whichever is chosen, so it needs no row."""
    values = sorted({piece.values[group.name] for slot in group.slots for piece in pieces.get(slot, ())})
    chosen = {value: model.column(integral=False) for value in values}
    if chosen:
        model.row([*((column, 1.0) for column in chosen.values()), (plays, -1.0)], -1, 0)
    for slot in group.slots:
        by_value: dict[str, list[int]] = defaultdict(list)
        for piece in pieces.get(slot, ()):
            by_value[piece.values[group.name]].append(model.wears[wearer, piece.code])
        for value, columns in by_value.items():
            model.row([*((column, 1.0) for column in columns), (chosen[value], -1.0)], -1, 0)


def _whole_sets(model: Model, wearer: str, role: Role, pieces: dict[str, list[PlanPiece]]) -> None:
    """A column per set that could dress the wearer alone: one only if every slot comes from it."""
    by_set: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    for slot, candidates in pieces.items():
        for piece in candidates:
            if piece.set_code is not None:
                by_set[piece.set_code][slot].append(model.wears[wearer, piece.code])
    for set_code, slots in by_set.items():
        if len(slots) == len(role.slots):
            column = model.whole[wearer, role.code, set_code] = model.column(integral=False)
            for columns in slots.values():
                model.row([(column, 1.0), *((worn, -1.0) for worn in columns)], -1, 0)


class Solver:
    """Solves one aim after the other; each reached aim becomes a row, so no later aim can cost an earlier one.

    An aim is a whole number. Among the many plans that reach it alike the fit scores choose, scaled so that all of them
    together count less than half of one: they cannot change the aim's value. Where pieces are made they speed up the
    search for an integral plan by an order of magnitude; where people are counted they only cost time.
    """

    def __init__(self, model: Model, *, time_limit_s: float | None = None) -> None:
        self.size = len(model.integral)
        self.integral = np.array(model.integral)
        self.rows = list(model.rows)
        self.options: dict[str, float] = {}
        if time_limit_s is not None:
            self.options["time_limit"] = time_limit_s
        self.values: Floats = np.zeros(self.size)
        self.ties: Floats = np.zeros(self.size)
        if model.scores:
            self.ties[list(model.scores)] = list(model.scores.values())
            # A piece is used once at most, so the best score of each piece bounds what all of them can sum to.
            self.ties *= 0.49 / max(1.0, sum(model.most_score.values()))

    def reach(
        self, name: str, weights: Iterable[tuple[int, float]], *, most: bool = True, ties: bool = True
    ) -> AimResult:
        """Make the sum of weights (whole numbers) as large, or as small, as the earlier aims allow, and hold it there.

        Raises PlanError when the time ran out before any plan was found.
        """
        terms = [(column, weight) for column, weight in weights if weight]
        if not terms:
            return AimResult(name, 0, 0, 0.0)
        cost = np.zeros(self.size)
        for column, weight in terms:
            cost[column] = weight
        sign = -1.0 if most else 1.0
        tied = ties and not np.any(cost * self.ties)
        # With ties in the sum a bound less than half of one away already proves the whole number: stop there. The sum
        # cannot exceed the weights together, so the gap, which is relative, is taken of those.
        enough = 0.45 / (1 + sum(abs(weight) for _, weight in terms)) if tied else 0.0
        result = milp(
            sign * cost - (self.ties if tied else 0.0),
            integrality=self.integral,
            bounds=Bounds(0, 1),
            constraints=self._constraints(),
            options={**self.options, "mip_rel_gap": enough},
        )
        if result.x is None:
            raise PlanError(f"No plan was found in time for the aim: {name}.")
        self.values = np.asarray(result.x, dtype=np.float64)
        # The columns that count are whole numbers; take them as such, so that no rounding error is carried on.
        value = round(float(cost @ self.values))
        bound = sign * float(result.mip_dual_bound if result.mip_dual_bound is not None else result.fun)
        self.rows.append((terms, value, np.inf) if most else (terms, -np.inf, value))
        # An aim is a whole number, so the next whole number inside the bound is the real one.
        whole = int(np.floor(bound + 1e-6)) if most else int(np.ceil(bound - 1e-6))
        gap = max(0, whole - value if most else value - whole) / max(1, abs(value))
        return AimResult(name, value, whole, gap)

    def _constraints(self) -> LinearConstraint:
        entries = [(index, column, factor) for index, (terms, _, _) in enumerate(self.rows) for column, factor in terms]
        lines, columns, factors = zip(*entries, strict=True)
        matrix = csr_array((factors, (lines, columns)), shape=(len(self.rows), self.size))
        return LinearConstraint(matrix, [row[1] for row in self.rows], [row[2] for row in self.rows])
