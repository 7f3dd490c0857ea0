"""Who could stand in for whom, and who competes for the same piece, on the planner's own problem."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from catalog.fitting.calc.fit import Verdict
from catalog.fitting.calc.plan_types import Assignment, PlanWearer, Problem, Role


@dataclass(frozen=True, slots=True)
class Rivals:
    """Several performers with the same only piece in a slot: at most one of them can be dressed in the role."""

    role: str
    slot: str
    piece: str
    wearers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StandIn:
    """How far another performer can wear an outfit as planned: slot by slot yes, no or unknown.

    A piece still to be made counts as a yes when the performer may wear a new one.
    """

    wearer: str
    slots: Mapping[str, Verdict]

    @property
    def all(self) -> bool:
        return all(verdict is Verdict.YES for verdict in self.slots.values())

    @property
    def fitting(self) -> int:
        return sum(verdict is Verdict.YES for verdict in self.slots.values())


def rivals(problem: Problem) -> tuple[Rivals, ...]:
    """Groups of two and more whose only fitting piece of a slot is the same one.

    Looked at are performers who could play the role: free on the days, and with a fitting piece in every slot of it.
    """
    only: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for wearer in problem.wearers:
        for role in problem.roles:
            pieces = _fitting(problem, wearer, role) if wearer.may_play(role) else {}
            if all(pieces.values()):
                for slot, found in pieces.items():
                    if len(found) == 1:
                        only[role.code, slot, found[0]].append(wearer.code)
    return tuple(Rivals(*key, tuple(wearers)) for key, wearers in only.items() if len(wearers) > 1)


def _fitting(problem: Problem, wearer: PlanWearer, role: Role) -> dict[str, list[str]]:
    """Per slot the pieces that are known to fit and whose match is recorded."""
    found: dict[str, list[str]] = {slot: [] for slot in role.slots}
    for piece in problem.pieces:
        if piece.role == role.code and piece.slot in found and piece.matchable(role):
            fit = problem.fits.get((wearer.code, piece.code))
            if fit is not None and fit.verdict is Verdict.YES:
                found[piece.slot].append(piece.code)
    return found


def stand_ins(problem: Problem, outfit: Iterable[Assignment]) -> tuple[StandIn, ...]:
    """Everybody else who is free on the days, against one planned outfit; whoever can wear most of it first."""
    worn = list(outfit)
    found = [
        StandIn(wearer.code, {line.slot: _wears(problem, wearer, line) for line in worn})
        for wearer in problem.wearers
        if wearer.available and worn and wearer.code != worn[0].wearer
    ]
    return tuple(sorted(found, key=lambda one: -one.fitting))


def _wears(problem: Problem, wearer: PlanWearer, line: Assignment) -> Verdict:
    if line.piece is None:
        may = (wearer.code, line.role, line.slot) in problem.makeable
        return Verdict.YES if may else Verdict.NO
    fit = problem.fits.get((wearer.code, line.piece))
    return Verdict.NO if fit is None else fit.verdict
