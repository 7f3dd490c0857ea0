"""What costs no crate: outfits together, what heat harms in few crates, and the smallest kind that holds the load."""

from collections.abc import Sequence

from catalog.shipping.calc.pack_crate import Crate, Item
from catalog.shipping.calc.pack_problem import Problem

# Rounds over all things; most packings settle after three.
_ROUNDS = 6


def spread(crates: Sequence[Crate]) -> int:
    """How far what belongs together is spread: each outfit's crates beyond its first, and crates that heat can harm."""
    at = [outfit for crate in crates for outfit, number in crate.outfits.items() if outfit and number]
    return len(at) - len(set(at)) + sum(crate.hot > 0 for crate in crates)


def tidied(crates: list[Crate]) -> list[Crate]:
    """Move and exchange things between crates as long as less is spread; no crate is added."""
    for _ in range(_ROUNDS):
        before = spread(crates)
        for crate in crates:
            for item in list(crate.items):
                _bring_home(item, crate, crates)
        if spread(crates) >= before:
            break
    return crates


def _bring_home(item: Item, crate: Crate, crates: Sequence[Crate]) -> None:
    """Put one thing where more of its own lie, straight or against something that is no worse off here."""
    for other in crates:
        if other is crate or _wish(item, other) <= _wish(item, crate, 1):
            continue
        crate.remove(item)
        if other.takes(item):
            if crate.items:
                other.add(item)
                return
        elif _exchanged(item, crate, other):
            return
        crate.add(item)


def _exchanged(item: Item, crate: Crate, other: Crate) -> bool:
    """The thing is out of its crate: exchange it for one of the other crate's, where both together gain by it."""
    for against in list(other.items):
        other.remove(against)
        gain = _wish(item, other) - _wish(item, crate) + _wish(against, crate) - _wish(against, other)
        if gain > 0 and other.takes(item) and crate.takes(against):
            other.add(item)
            crate.add(against)
            return True
        other.add(against)
    return False


def _wish(item: Item, crate: Crate, itself: int = 0) -> int:
    """How many good reasons the thing has to lie with what is in the crate; `itself` 1 while it lies there."""
    same = item.thing.outfit and crate.outfits[item.thing.outfit] > itself
    hot = item.thing.heat and crate.hot > itself
    return int(bool(same)) + int(hot)


def smaller_kinds(problem: Problem, crates: Sequence[Crate]) -> list[Crate]:
    """The same loads, each in the smallest kind of crate that holds it and of which one is left."""
    left = {spec.code: spec.count for spec in problem.specs}
    for crate in crates:
        _use(left, crate.spec.code, -1)
    kept = []
    for crate in crates:
        _use(left, crate.spec.code, 1)
        best = crate
        for spec in problem.specs:
            if left[spec.code] == 0:
                continue
            fresh = Crate(spec, problem.rules)
            if fresh.floor * fresh.height < best.floor * best.height and _holds(fresh, crate.items):
                best = fresh
        _use(left, best.spec.code, -1)
        kept.append(best)
    return kept


def _holds(fresh: Crate, items: Sequence[Item]) -> bool:
    for item in items:
        if not fresh.takes(item):
            return False
        fresh.add(item)
    return True


def _use(left: dict[str, int | None], code: str, by: int) -> None:
    if (have := left[code]) is not None:
        left[code] = have + by
