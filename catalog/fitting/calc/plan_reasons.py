"""Why somebody is left out of a plan. Every reason is true: grant all that a role names and the wearer is dressed."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import product

from catalog.fitting.calc.fit import Fit, Reason, Verdict
from catalog.fitting.calc.plan_locks import check_locks, eligible, makes, stock_by_slot
from catalog.fitting.calc.plan_types import (
    Assignment,
    LeftOut,
    Lock,
    PlanPiece,
    PlanWearer,
    Problem,
    Role,
    RoleBlock,
    SlotBlock,
)

# Of two roles with as many things in the way, the one whose reason stands first here is told.
ORDER = (Reason.NOT_NEEDED, Reason.PIECE_MISSING, Reason.SIZE, Reason.UNKNOWN, Reason.EXCLUSION, Reason.DATES)


Stock = Mapping[tuple[str, str], list[PlanPiece]]
AWAY = SlotBlock(None, Reason.DATES, "not free on every day asked for")


def left_out(problem: Problem, assignments: Iterable[Assignment], dressed: Mapping[str, int]) -> tuple[LeftOut, ...]:
    """Everybody without an outfit, in the problem's order."""
    lines = list(assignments)
    used = {line.piece for line in lines if line.piece is not None}
    wearing = {line.wearer for line in lines}
    locks, stock = check_locks(problem), stock_by_slot(problem)
    return tuple(
        _one(problem, wearer, used, dressed, locks, stock) for wearer in problem.wearers if wearer.code not in wearing
    )


def _one(
    problem: Problem,
    wearer: PlanWearer,
    used: set[str],
    dressed: Mapping[str, int],
    locks: Mapping[tuple[str, str], Lock],
    stock: Stock,
) -> LeftOut:
    away = not wearer.available
    found = []
    for role in problem.roles:
        if replace(wearer, available=True).may_play(role):
            pieces = eligible(problem, wearer, role, locks, stock)
            if pieces is not None:
                blocks = _blocks(problem, wearer, role, pieces, used, dressed, locks, stock)
                found.append(RoleBlock(role.code, (AWAY, *blocks) if away else blocks))
    if not found:
        if away:
            return LeftOut(wearer.code, Reason.DATES, _sentence(AWAY.sentence))
        return LeftOut(wearer.code, Reason.NOT_NEEDED, "No role of this call is open to this performer.")
    found.sort(key=_nearness)
    nearest = found[0]
    if not nearest.blocks:  # only when a time limit stopped the search before the best plan was proven
        return LeftOut(
            wearer.code, Reason.NOT_NEEDED, "Could be dressed too: the search was stopped early.", tuple(found)
        )
    worst = max(nearest.blocks, key=lambda block: ORDER.index(block.reason))
    told = [block for block in nearest.blocks if block is not AWAY and not (away and block.passing)]
    said = "; ".join(_together(problem, told))
    said = f"{problem.word(nearest.role)}: {said}." if told else ""
    if away:
        said = f"{_sentence(AWAY.sentence)} Besides, as {said}" if told else _sentence(AWAY.sentence)
    return LeftOut(wearer.code, worst.reason, said, tuple(found))


def _together(problem: Problem, blocks: Iterable[SlotBlock]) -> list[str]:
    """The blocks' sentences; slots whose fitting pieces are all worn by others are told in one."""
    listed = list(blocks)
    taken = [block for block in listed if block.passing and block.slot is not None]
    if len(taken) < 2:
        return [block.sentence for block in listed]
    names = [problem.word(block.slot or "") for block in taken]
    said = f"others wear every {', '.join(names[:-1])} and {names[-1]} that would fit; one more of each is needed"
    return [*(block.sentence for block in listed if block not in taken), said]


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."


def _nearness(role: RoleBlock) -> tuple[int, int, int]:
    """The role that comes nearest first: fewest lasting blocks, then fewest at all, then the mildest reason."""
    lasting = sum(not block.passing for block in role.blocks)
    return lasting, len(role.blocks), max((ORDER.index(block.reason) for block in role.blocks), default=0)


def _blocks(
    problem: Problem,
    wearer: PlanWearer,
    role: Role,
    pieces: Mapping[str, list[PlanPiece]],
    used: set[str],
    dressed: Mapping[str, int],
    locks: Mapping[tuple[str, str], Lock],
    stock: Stock,
) -> tuple[SlotBlock, ...]:
    """What stands in the way in one role: first what lasts, then what others wear in this plan."""
    made = {slot for slot in role.slots if makes(problem, wearer.code, role.code, slot, locks)}
    full = dressed.get(role.code, 0) >= role.need
    always = _still_missing(role, pieces, made, set())
    # With every place filled somebody has to step down first, and then that outfit is free.
    now = always if full else _still_missing(role, pieces, made, used)
    blocks = []
    granted = {slot: list(found) for slot, found in pieces.items()}
    filled = set(made)
    for slot in now:
        if not pieces[slot]:
            block = _no_piece(problem, wearer, role, slot, stock, used)
            blocks.append(block)
            named = [piece for piece in stock.get((role.code, slot), ()) if piece.code == block.piece]
            granted[slot] += [piece for piece in named if piece.matchable(role)]
        elif slot in always:
            blocks.append(_no_match(problem, role, slot))
        else:
            blocks.append(_one_more(problem, role, slot))
        if blocks[-1].piece is None:
            filled.add(slot)
    # A piece that may be worn once all is granted can still be another's, or not match the rest.
    for slot in _still_missing(role, granted, filled, set() if full else used):
        blocks.append(_one_more(problem, role, slot))
    if full:
        said = f"all {role.need} places are filled"
        blocks.append(SlotBlock(None, Reason.NOT_NEEDED, said, passing=True))
    return tuple(sorted(blocks, key=lambda block: block.passing))


def _one_more(problem: Problem, role: Role, slot: str) -> SlotBlock:
    said = f"{problem.word(slot)}: those that fit are worn by others, one more is needed"
    return SlotBlock(slot, Reason.PIECE_MISSING, said + _sharing(problem, role, slot), passing=True)


def _sharing(problem: Problem, role: Role, slot: str) -> str:
    names = " and ".join(problem.word(group.name) for group in role.groups_of(slot))
    return f" (with a matching {names})" if names else ""


def _still_missing(
    role: Role, pieces: Mapping[str, list[PlanPiece]], made: set[str], used: set[str]
) -> tuple[str, ...]:
    """The fewest slots that stay empty, without the used pieces, when the match groups take their best values."""
    free = {slot: [piece for piece in found if piece.code not in used] for slot, found in pieces.items()}
    choices = []
    for group in role.groups:
        values = sorted({p.values[group.name] for slot in group.slots for p in free.get(slot, ())})
        choices.append([(group.name, value) for value in values] or [(group.name, "")])
    best: tuple[str, ...] | None = None
    for choice in product(*choices):
        wanted = dict(choice)
        empty = tuple(
            slot
            for slot in role.slots
            if slot not in made
            and not any(
                all(wanted[g.name] == piece.values[g.name] for g in role.groups_of(slot)) for piece in free[slot]
            )
        )
        if best is None or len(empty) < len(best):
            best = empty
    return best or ()


def _no_match(problem: Problem, role: Role, slot: str) -> SlotBlock:
    names = " and ".join(problem.word(group.name) for group in role.groups_of(slot))
    said = f"{problem.word(slot)}: none that fits shares one {names} with the other pieces that fit"
    return SlotBlock(slot, Reason.PIECE_MISSING, said)


def _no_piece(problem: Problem, wearer: PlanWearer, role: Role, slot: str, stock: Stock, used: set[str]) -> SlotBlock:
    """No existing piece will do in this slot: say what is nearest and what it would take."""
    word = problem.word(slot)
    pairs = [(piece, problem.fits.get((wearer.code, piece.code))) for piece in stock.get((role.code, slot), ())]
    judged = [(piece, found) for piece, found in pairs if found is not None]
    if not pairs:
        return SlotBlock(slot, Reason.PIECE_MISSING, f"{word}: none is free for this call")
    if not judged:
        return SlotBlock(slot, Reason.SIZE, f"{word}: none of {len(pairs)} fits")
    fitting = [piece for piece, found in judged if found.verdict is Verdict.YES]
    if fitting:
        if unmatched := [piece for piece in fitting if not piece.matchable(role)]:
            said = "the match of the one that fits is not recorded"
            if len(fitting) > 1:
                said = f"the match of those that fit is not recorded ({', '.join(p.code for p in unmatched[:3])})"
            return SlotBlock(slot, Reason.UNKNOWN, f"{word}: {said}")
        return SlotBlock(slot, Reason.PIECE_MISSING, f"{word}: the one that fits is locked for another")

    def far(pair: tuple[PlanPiece, Fit]) -> tuple[int, bool, bool, tuple[int, float, int, str]]:
        # Another's piece is no help where the piece itself would be granted; where one more is made, it is as good.
        mine = pair[1].reason is Reason.SIZE or pair[0].code not in used
        return _distance(pair)[0], not pair[0].matchable(role), not mine, _distance(pair)

    piece, nearest = min(judged, key=far)
    many = f"none of {len(judged)} may be worn" if nearest.reason is Reason.EXCLUSION else f"none of {len(judged)} fits"
    if nearest.verdict is Verdict.UNKNOWN:
        many = "none is known to fit"
    matchable = piece.matchable(role)
    why = nearest.reasons if matchable else (*nearest.reasons, "its match is not recorded")
    said = f"{word}: {many}; nearest is {piece.code} ({', '.join(why)})"
    grants = matchable and nearest.reason in (Reason.EXCLUSION, Reason.UNKNOWN)
    return SlotBlock(slot, nearest.reason or Reason.SIZE, said, piece=piece.code if grants else None)


def _distance(judged: tuple[PlanPiece, Fit]) -> tuple[int, float, int, str]:
    """How much would have to be granted: knowledge before size, size before an exclusion."""
    piece, found = judged
    rank = 0 if found.verdict is Verdict.UNKNOWN else 2 if found.reason is Reason.EXCLUSION else 1
    return rank, -(found.probability or 0.0), found.miss, piece.code
