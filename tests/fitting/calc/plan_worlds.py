"""Seeded problems for the planner's tests, and plain enumeration of every plan: slow and obvious."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np

from catalog.fitting.calc.fit import Fit, Reason, Verdict
from catalog.fitting.calc.plan_types import Assignment, Group, Plan, PlanPiece, PlanWearer, Problem, Role

NO = Fit(Verdict.NO, 0.0, 0, Reason.SIZE, ("chest: piece too small by 1.0 cm",))
Values = tuple[int, int, int, int]


def yes(score: int = 50) -> Fit:
    return Fit(Verdict.YES, 1.0, score)


def reached(answer: Plan) -> Values:
    """Dressed, made, whole, fit."""
    found = {aim.name: aim.value for aim in answer.aims}
    return found["people dressed"], found["pieces made"], found["in one whole set"], found["fit"]


def four_by_five(number: int) -> Problem:
    """4 performers, 3 slots, 5 pieces a slot; one or two roles, none to two match groups, sets, at times making."""
    rng = np.random.default_rng(number)
    slots = ("top", "low", "hat")
    groups = [Group(name, pair) for name, pair in (("g", ("top", "low")), ("h", ("low", "hat")))][
        : int(rng.integers(3))
    ]
    roles = [Role("P", int(rng.integers(2, 5)), slots, tuple(groups))]
    if rng.random() < 0.4:
        roles.append(Role("Q", int(rng.integers(1, 3)), slots))
    pieces = []
    for count in range(15):
        role = roles[int(rng.integers(len(roles)))]
        values = {group.name: str(rng.choice(["A", "B"])) for group in role.groups}
        owner = str(rng.choice(["", "1", "2", "3"]))
        pieces.append(PlanPiece(f"p{count}", role.code, slots[count % 3], role.code + owner if owner else None, values))
    wearers = tuple(PlanWearer(f"W{count}", None, bool(rng.random() < 0.95)) for count in range(4))
    share = float(rng.choice([0.25, 0.4, 0.5]))
    fits = {
        (w.code, p.code): yes(int(rng.integers(1, 100))) if rng.random() < share else NO
        for w in wearers
        for p in pieces
    }
    keys = [(w.code, role.code, slot) for w in wearers for role in roles for slot in slots]
    makeable = frozenset(key for key in keys if rng.random() < 0.3)
    return Problem(tuple(roles), wearers, tuple(pieces), fits, (), bool(rng.random() < 0.4), makeable)


def outfits(problem: Problem, wearer: PlanWearer) -> Iterator[tuple[str, tuple[str | None, ...]]]:
    """Every outfit of one wearer: role, and a piece (None: made) a slot."""
    pieces = {piece.code: piece for piece in problem.pieces}
    for role in problem.roles:
        if not wearer.may_play(role):
            continue
        open_slots: list[list[str | None]] = []
        for slot in role.slots:
            fits: list[str | None] = [
                piece.code
                for piece in problem.pieces
                if (piece.role, piece.slot) == (role.code, slot)
                and problem.fits[wearer.code, piece.code].verdict is Verdict.YES
            ]
            open_slots.append([*fits, None] if problem.may_make(wearer.code, role.code, slot) else fits)
        for outfit in product(*open_slots):
            worn = dict(zip(role.slots, outfit, strict=True))
            if all(
                len({pieces[code].values[group.name] for slot in group.slots if (code := worn[slot]) is not None}) <= 1
                for group in role.groups
            ):
                yield role.code, outfit


def every_plan(problem: Problem) -> Iterator[tuple[Values, tuple[Assignment, ...]]]:
    """Every plan with its dressed, made, whole and fit."""
    pieces = {piece.code: piece for piece in problem.pieces}
    slots = {role.code: role.slots for role in problem.roles}
    need = {role.code: role.need for role in problem.roles}
    options = []
    for wearer in problem.wearers:
        own = []
        for role, outfit in outfits(problem, wearer):
            chosen = [code for code in outfit if code is not None]
            sets = {pieces[code].set_code if code is not None else None for code in outfit}
            score = sum(problem.fits[wearer.code, code].score for code in chosen)
            lines = tuple(Assignment(wearer.code, role, s, c) for s, c in zip(slots[role], outfit, strict=True))
            own.append(
                (role, frozenset(chosen), lines, outfit.count(None), int(len(sets) == 1 and None not in sets), score)
            )
        options.append(own)

    def walk(
        at: int, used: frozenset[str], filled: dict[str, int], so_far: Values, lines: tuple[Assignment, ...]
    ) -> Iterator[tuple[Values, tuple[Assignment, ...]]]:
        if at == len(options):
            yield so_far, lines
            return
        yield from walk(at + 1, used, filled, so_far, lines)
        dressed, made, whole, fit = so_far
        for role, chosen, own, of_made, of_whole, of_fit in options[at]:
            if filled[role] < need[role] and not used & chosen:
                more = {**filled, role: filled[role] + 1}
                total = dressed + 1, made + of_made, whole + of_whole, fit + of_fit
                yield from walk(at + 1, used | chosen, more, total, (*lines, *own))

    yield from walk(0, frozenset(), dict.fromkeys(need, 0), (0, 0, 0, 0), ())


def order(values: Values) -> Values:
    """What is compared: more dressed, fewer made, more whole, better fit."""
    dressed, made, whole, fit = values
    return dressed, -made, whole, fit


def small(number: int) -> Problem:
    """As four_by_five, but three performers: for tests that look at every plan several times."""
    problem = four_by_five(number)
    return replace(problem, wearers=problem.wearers[:3])
