"""A day of fittings: what to hang ready for whom, and the order that spares re-hanging.

For every slot a first choice and spares; spares are pieces that nobody else is planned for, and in a match group only
those that go with the first choice. The order keeps a role together, then lets neighbours share what already hangs.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from catalog.fitting.calc.fit import Fit, Verdict
from catalog.fitting.calc.plan_types import Assignment, PlanPiece, Problem, Role

SPARES = 2
EXACT_UP_TO = 9  # people of one role: all orders are tried through; above, the order is improved step by step


@dataclass(frozen=True, slots=True)
class SlotRail:
    """One slot of one fitting: the first choice (None: to be made), and spares, the best first."""

    slot: str
    first: str | None
    spares: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Fitting:
    """One performer's fitting: the role and what to hang ready."""

    wearer: str
    role: str
    rails: tuple[SlotRail, ...]

    @property
    def pieces(self) -> frozenset[str]:
        """Everything that hangs ready for it."""
        first = {rail.first for rail in self.rails if rail.first is not None}
        return frozenset(first.union(*(rail.spares for rail in self.rails)) if self.rails else first)


def fittings(problem: Problem, assignments: Iterable[Assignment], *, spares: int = SPARES) -> tuple[Fitting, ...]:
    """What to hang ready for everybody in the plan, in the order of the plan."""
    by_wearer: dict[tuple[str, str], list[Assignment]] = {}
    planned: dict[str, str] = {}
    for line in assignments:
        by_wearer.setdefault((line.wearer, line.role), []).append(line)
        if line.piece is not None:
            planned[line.piece] = line.wearer
    roles = {role.code: role for role in problem.roles}
    pieces = {piece.code: piece for piece in problem.pieces}
    return tuple(
        Fitting(wearer, role, tuple(_rail(problem, roles[role], line, own, pieces, planned, spares) for line in own))
        for (wearer, role), own in by_wearer.items()
    )


def _rail(
    problem: Problem,
    role: Role,
    line: Assignment,
    outfit: Sequence[Assignment],
    pieces: Mapping[str, PlanPiece],
    planned: Mapping[str, str],
    spares: int,
) -> SlotRail:
    wanted = _match_values(role, line.slot, outfit, pieces)
    found = []
    for piece in problem.pieces:
        fit = problem.fits.get((line.wearer, piece.code))
        if (piece.role, piece.slot) != (role.code, line.slot) or piece.code in planned or fit is None:
            continue
        if not _possible(fit) or any(piece.values.get(group) != value for group, value in wanted.items()):
            continue
        found.append((-_likelihood(fit), -fit.score, piece.code))
    return SlotRail(line.slot, line.piece, tuple(code for _, _, code in sorted(found)[:spares]))


def _match_values(
    role: Role, slot: str, outfit: Sequence[Assignment], pieces: Mapping[str, PlanPiece]
) -> dict[str, str]:
    """Per match group of the slot the value that the rest of the outfit already has."""
    found = {}
    for group in role.groups_of(slot):
        for line in outfit:
            if line.slot in group.slots and line.slot != slot and line.piece is not None:
                piece = pieces.get(line.piece)
                found[group.name] = piece.values.get(group.name, "") if piece else ""
    return found


def _possible(fit: Fit) -> bool:
    return fit.verdict is Verdict.YES or (fit.verdict is Verdict.UNKNOWN and bool(fit.probability))


def _likelihood(fit: Fit) -> float:
    return 1.0 if fit.verdict is Verdict.YES else fit.probability or 0.0


def in_order(found: Sequence[Fitting]) -> tuple[Fitting, ...]:
    """The same fittings, role by role as they come, each role in the order that hangs the fewest pieces anew."""
    roles = list(dict.fromkeys(fitting.role for fitting in found))
    ordered: list[Fitting] = []
    for role in roles:
        own = [fitting for fitting in found if fitting.role == role]
        before = ordered[-1].pieces if ordered else frozenset()
        ordered += _best_exact(own, before) if len(own) <= EXACT_UP_TO else _improved(own, before)
    return tuple(ordered)


def hung(found: Sequence[Fitting], before: frozenset[str] = frozenset()) -> int:
    """How many pieces are hung in all, when what hangs for the one before stays for the next if it is wanted."""
    total = 0
    for fitting in found:
        total += len(fitting.pieces - before)
        before = fitting.pieces
    return total


def _best_exact(own: list[Fitting], before: frozenset[str]) -> list[Fitting]:
    """The best of all orders, by growing best orders of subsets (Held and Karp 1962). Ties keep the order given."""
    if not own:
        return []
    best: dict[tuple[int, int], tuple[int, tuple[int, ...]]] = {
        (1 << n, n): (len(fitting.pieces - before), (n,)) for n, fitting in enumerate(own)
    }
    for size in range(2, len(own) + 1):
        for (seen, last), (cost, path) in [item for item in best.items() if len(item[1][1]) == size - 1]:
            for n, fitting in enumerate(own):
                if seen >> n & 1:
                    continue
                key, found = (seen | 1 << n, n), (cost + len(fitting.pieces - own[last].pieces), (*path, n))
                if key not in best or found < best[key]:
                    best[key] = found
    everybody = (1 << len(own)) - 1
    _, path = min(best[key] for key in best if key[0] == everybody)
    return [own[n] for n in path]


def _improved(own: list[Fitting], before: frozenset[str]) -> list[Fitting]:
    """Start from the given order and move one person at a time while that hangs fewer pieces."""
    order, cost = list(own), hung(own, before)
    better = True
    while better:
        better = False
        for n in range(len(order)):
            rest = order[:n] + order[n + 1 :]
            tried = [[*rest[:m], order[n], *rest[m:]] for m in range(len(order))]
            best = min(tried, key=lambda found: hung(found, before))
            if hung(best, before) < cost:
                order, cost, better = best, hung(best, before), True
    return order


def times(
    count: int, start: datetime, minutes: int, *, pause_at: datetime | None = None, pause_minutes: int = 0
) -> tuple[datetime, ...]:
    """When each fitting begins. None runs into the pause: it begins after it. Raises ValueError for no minutes."""
    if minutes < 1:
        raise ValueError("A fitting takes at least a minute.")
    found, now = [], start
    for _ in range(count):
        over = None if pause_at is None else pause_at + timedelta(minutes=pause_minutes)
        if pause_at is not None and over is not None and now < over and now + timedelta(minutes=minutes) > pause_at:
            now = over
        found.append(now)
        now += timedelta(minutes=minutes)
    return tuple(found)
