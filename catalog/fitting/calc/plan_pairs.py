"""Who may wear what, as arrays: the pairs that fit and that no lock, role or unknown match forbids."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalog.fitting.calc.fit import Verdict
from catalog.fitting.calc.plan_locks import makes
from catalog.fitting.calc.plan_types import Lock, Problem

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Fitting = tuple[Ints, Ints, Ints]


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Outfits are (wearer, role) in which every slot can be filled somehow; places are (outfit, slot), all in a row.

    `outfit`, `place`, `piece`, `score`: one entry a pair, sorted by place and then by piece. `made`: places where a
    piece may be made. Numbers are positions in the problem's own tuples.
    """

    outfits: tuple[tuple[int, int], ...]
    first_place: Ints  # per outfit, and one more at the end
    place_slot: tuple[str, ...]
    outfit: Ints
    place: Ints
    piece: Ints
    score: Ints
    made: Ints

    @property
    def place_outfit(self) -> Ints:
        return np.repeat(np.arange(len(self.outfits)), np.diff(self.first_place))


def pairs_of(problem: Problem, locks: Mapping[tuple[str, str], Lock], found: Fitting | None = None) -> Pairs:
    """Sort out the pairs that fit (`found`, if they were collected already)."""
    who, piece, score = found or fitting(problem)
    slots = [(number, slot) for number, role in enumerate(problem.roles) for slot in role.slots]
    slot_number = {(problem.roles[role].code, slot): number for number, (role, slot) in enumerate(slots)}
    slot_role = np.array([role for role, _ in slots], dtype=np.int64)
    piece_slot = _slot_of_pieces(problem, slot_number)
    slot = piece_slot[piece]
    keep = slot >= 0
    who, piece, score, slot = who[keep], piece[keep], score[keep], slot[keep]
    open_roles = _open_roles(problem, locks)
    keep = open_roles[who, slot_role[slot]] & _unlocked(problem, locks, slot_number, who, piece, slot)
    who, piece, score, slot = who[keep], piece[keep], score[keep], slot[keep]
    filled = np.zeros((len(problem.wearers), len(slots)), dtype=np.bool_)
    filled[who, slot] = True
    can_make = _can_make(problem, locks, slots, open_roles)
    return _numbered(problem, slots, (who, piece, score, slot), open_roles, filled, can_make)


def fitting(problem: Problem) -> Fitting:
    """Wearer, piece and score of every pair whose fit says yes, in one pass; an absent fit is a no."""
    people = {wearer.code: number for number, wearer in enumerate(problem.wearers)}
    pieces = {piece.code: number for number, piece in enumerate(problem.pieces)}
    found = [
        (people[wearer], pieces[code], fit.score)
        for (wearer, code), fit in problem.fits.items()
        if fit.verdict is Verdict.YES and wearer in people and code in pieces
    ]
    table = np.array(found, dtype=np.int64).reshape(len(found), 3)
    return table[:, 0], table[:, 1], table[:, 2]


def _slot_of_pieces(problem: Problem, slot_number: Mapping[tuple[str, str], int]) -> Ints:
    """Per piece its slot's number; -1 when no role asks for it or its match is not known: unknown matches nothing."""
    roles = {role.code: role for role in problem.roles}
    found = [
        slot_number.get((piece.role, piece.slot), -1)
        if piece.role in roles and piece.matchable(roles[piece.role])
        else -1
        for piece in problem.pieces
    ]
    return np.array(found, dtype=np.int64)


def _open_roles(problem: Problem, locks: Mapping[tuple[str, str], Lock]) -> Bools:
    """Per wearer and role whether it may be played; a lock holds its wearer to one role."""
    held = {wearer: lock.role for (wearer, _), lock in locks.items()}
    found = np.zeros((len(problem.wearers), len(problem.roles)), dtype=np.bool_)
    for row, wearer in enumerate(problem.wearers):
        for column, role in enumerate(problem.roles):
            found[row, column] = wearer.may_play(role) and held.get(wearer.code, role.code) == role.code
    return found


def _unlocked(
    problem: Problem,
    locks: Mapping[tuple[str, str], Lock],
    slot_number: Mapping[tuple[str, str], int],
    who: Ints,
    piece: Ints,
    slot: Ints,
) -> Bools:
    """Pairs that no lock speaks against: a locked piece is its wearer's, a locked place takes nothing else."""
    open_pairs = np.ones(len(who), dtype=np.bool_)
    people = {wearer.code: number for number, wearer in enumerate(problem.wearers)}
    pieces = {one.code: number for number, one in enumerate(problem.pieces)}
    for (wearer, name), lock in locks.items():
        own = who == people[wearer]
        here = own & (slot == slot_number[lock.role, name])
        given = piece == (pieces[lock.piece] if lock.piece is not None else -1)
        open_pairs &= ~((here & ~given) | (given & ~own))
    return open_pairs


def _can_make(
    problem: Problem, locks: Mapping[tuple[str, str], Lock], slots: list[tuple[int, str]], open_roles: Bools
) -> Bools:
    found = np.zeros((len(problem.wearers), len(slots)), dtype=np.bool_)
    if problem.with_making:
        for row, wearer in enumerate(problem.wearers):
            for column, (role, slot) in enumerate(slots):
                allowed = makes(problem, wearer.code, problem.roles[role].code, slot, locks)
                found[row, column] = allowed and open_roles[row, role]
    return found


def _numbered(
    problem: Problem,
    slots: list[tuple[int, str]],
    table: tuple[Ints, Ints, Ints, Ints],
    open_roles: Bools,
    filled: Bools,
    can_make: Bools,
) -> Pairs:
    """Number the outfits in which every slot can be filled, and drop what belongs to no such outfit."""
    who, piece, score, slot = table
    outfits: list[tuple[int, int]] = []
    place_slot: list[str] = []
    first = [0]
    place_of = np.full(filled.shape, -1, dtype=np.int64)
    columns = [
        [number for number, (role, _) in enumerate(slots) if role == which] for which in range(open_roles.shape[1])
    ]
    for row in range(len(problem.wearers)):
        for role, own in enumerate(columns):
            if open_roles[row, role] and bool(np.all(filled[row, own] | can_make[row, own])):
                outfits.append((row, role))
                place_of[row, own] = np.arange(len(place_slot), len(place_slot) + len(own))
                place_slot += [slots[number][1] for number in own]
                first.append(len(place_slot))
    place = place_of[who, slot]
    keep = place >= 0
    order = np.lexsort((piece[keep], place[keep]))
    place = place[keep][order]
    first_place = np.array(first, dtype=np.int64)
    outfit = np.searchsorted(first_place, place, side="right") - 1
    made = np.sort(place_of[can_make & (place_of >= 0)])
    return Pairs(
        tuple(outfits), first_place, tuple(place_slot), outfit, place, piece[keep][order], score[keep][order], made
    )
