"""Fill crates with things: as few crates as can be found, then outfits together and what heat harms in few crates.

First fit, largest first, is the plain way and always among the candidates, so nothing proposed is worse than it. Beside
it stand best fit, other orders, and orders by outfit; the promising ones are then squeezed: a crate is emptied into the
others, if need be by putting something of theirs elsewhere. Everything is repeatable: no clock and no chance is asked.
"""

from collections.abc import Callable, Sequence

from catalog.shipping.calc.pack_bound import crates_needed
from catalog.shipping.calc.pack_crate import Crate, Item, items_of, reach_in
from catalog.shipping.calc.pack_problem import Filled, Left, Packing, Problem, Spec, Thing, unknown_of
from catalog.shipping.calc.pack_tidy import smaller_kinds, spread, tidied

# Squeezing is tried on so many of the best candidates, tidying on the best of those.
_SQUEEZED, _TIDIED = 3, 2
_Order = Callable[[Item], tuple[float, ...]]
_Kind = Callable[[Crate], tuple[int, int]]
_Found = tuple[list[Crate], list[Item]]
_ORDERS: tuple[_Order, ...] = (
    lambda item: (-item.size,),
    lambda item: (-sum(item.shares),),
    lambda item: (-item.shares[0],),
    lambda item: (-item.shares[1],),
    lambda item: (-item.shares[2], -item.size),
    lambda item: (-len(item.banned), -item.size),
)
# Which kind is opened: the roomiest, or the one that carries most.
_KINDS: tuple[_Kind, ...] = (
    lambda crate: (crate.floor * crate.height, crate.net),
    lambda crate: (crate.net, crate.floor * crate.height),
)


def pack(problem: Problem) -> Packing:
    """The best packing found. What is not known, fits in nothing or found no room is named, never packed silently."""
    asked, unfit, fitting = sorted_out(problem)
    if not fitting:
        return Packing((), asked, unfit)
    items = items_of(fitting, problem.specs, problem.rules)
    least = crates_needed(problem).least
    tried = [
        _filled(problem, items, order, kind, best=best)
        for kind in _KINDS
        for order in _ORDERS
        for best in (False, True)
    ]
    tried += [_filled(problem, items, order, kind, together=True) for kind in _KINDS for order in _ORDERS[:4]]
    tried.sort(key=_cost)
    whole = [crates for crates, left in tried if not left]
    # An order by outfit may ask for a crate more at first, and still end with outfits whole.
    best = [*whole[:_SQUEEZED], *sorted(whole[_SQUEEZED:], key=spread)[:1]]
    squeezed: list[_Found] = [(_squeezed(crates, least), []) for crates in best]
    squeezed.sort(key=_cost)
    done: list[_Found] = [(tidied(crates), []) for crates, _ in squeezed[:_TIDIED]]
    crates, left = min(done or tried, key=_cost)
    return _told(problem, crates, left, asked, unfit)


def first_fit(problem: Problem) -> Packing:
    """The plain way to compare with: largest first, each into the first crate that takes it."""
    asked, unfit, fitting = sorted_out(problem)
    if not fitting:
        return Packing((), asked, unfit)
    crates, left = _filled(problem, items_of(fitting, problem.specs, problem.rules), _ORDERS[0], _KINDS[0])
    return _told(problem, crates, left, asked, unfit, shrink=False)


def sorted_out(problem: Problem) -> tuple[tuple[Left, ...], tuple[Left, ...], list[Thing]]:
    """What must be asked first, what goes into no crate at all, and what can be packed."""
    asked, unfit, fitting = [], [], []
    for thing in problem.things:
        if lacks := unknown_of(thing):
            asked.append(Left(thing.number, lacks))
        elif why := _unfit(thing, problem.specs):
            unfit.append(Left(thing.number, why))
        else:
            fitting.append(thing)
    return tuple(asked), tuple(unfit), fitting


def _unfit(thing: Thing, specs: Sequence[Spec]) -> str:
    if not specs:
        return "there is no kind of crate yet"
    by_size = [spec for spec in specs if reach_in(thing, spec) is not None]
    if not by_size:
        return "larger than every kind of crate inside"
    if all((thing.weight_g or 0) > spec.limit_g - spec.tare_g for spec in by_size):
        return "heavier than any crate it fits into may be"
    return ""


def _filled(
    problem: Problem, items: Sequence[Item], order: _Order, kind: _Kind, *, best: bool = False, together: bool = False
) -> _Found:
    """One pass over the things: each into the first crate, the fullest, or the one that holds its outfit already."""
    crates: list[Crate] = []
    left: list[Item] = []
    for item in _in_order(items, order, together=together):
        taking = [crate for crate in crates if crate.takes(item)]
        if together and item.thing.outfit:
            same = [c for c in taking if any(one.thing.outfit == item.thing.outfit for one in c.items)]
            taking = same or taking
        if taking:
            (max(taking, key=lambda crate: crate.load) if best else taking[0]).add(item)
        elif (crate := _opened(problem, crates, item, kind)) is not None:
            crates.append(crate)
        else:
            left.append(item)
    return crates, left


def _in_order(items: Sequence[Item], order: _Order, *, together: bool) -> list[Item]:
    ordered = sorted(items, key=lambda item: (order(item), item.thing.number))
    if not together:
        return ordered
    totals: dict[str, float] = {}
    for item in items:
        key = item.thing.outfit
        totals[key] = totals.get(key, 0.0) + item.size
    # Whole outfits first, the largest in front; what belongs to none fills the gaps.
    return sorted(ordered, key=lambda item: (not item.thing.outfit, -totals[item.thing.outfit], item.thing.outfit))


def _opened(problem: Problem, crates: Sequence[Crate], item: Item, kind: _Kind) -> Crate | None:
    """A new crate with the thing in it: the best kind that takes it and of which one is left."""
    fresh = [
        Crate(spec, problem.rules)
        for spec in problem.specs
        if spec.count is None or sum(c.spec.code == spec.code for c in crates) < spec.count
    ]
    taking = [crate for crate in fresh if crate.takes(item)]
    if not taking:
        return None
    crate = max(taking, key=kind)
    crate.add(item)
    return crate


def _cost(found: _Found) -> tuple[int, int, int]:
    crates, left = found
    return len(left), len(crates), spread(crates)


def _squeezed(crates: list[Crate], least: int) -> list[Crate]:
    """Empty one crate after the other into the rest, the emptiest first, until nothing is gained or the bound met."""
    gained = True
    while gained and len(crates) > least:
        gained = False
        for crate in sorted(crates, key=lambda one: one.load):
            others = [one for one in crates if one is not crate]
            if _emptied(crate, others):
                crates, gained = others, True
                break
    return crates


def _emptied(crate: Crate, others: Sequence[Crate]) -> bool:
    """Whether everything in the crate found room elsewhere; if not, all is as it was."""
    done: list[tuple[Item, Crate, Crate]] = []
    for item in sorted(crate.items, key=lambda one: -one.size):
        steps = _room_made(item, crate, others)
        if not steps:
            for moved, came, went in reversed(done):
                went.remove(moved)
                came.add(moved)
            return False
        done += steps
    return True


def _room_made(item: Item, crate: Crate, others: Sequence[Crate]) -> list[tuple[Item, Crate, Crate]]:
    """The moves that bring the thing into another crate: straight, or after something smaller left that one."""
    for other in sorted(others, key=lambda one: -one.load):
        if other.takes(item):
            crate.remove(item)
            other.add(item)
            return [(item, crate, other)]
    for other in others:
        for out in sorted(other.items, key=lambda one: -one.size):
            if out.size >= item.size:
                continue
            other.remove(out)
            third = next((one for one in others if one is not other and one.takes(out)), None)
            if third is not None and other.takes(item):
                third.add(out)
                crate.remove(item)
                other.add(item)
                return [(out, other, third), (item, crate, other)]
            other.add(out)
    return []


def _told(
    problem: Problem,
    crates: Sequence[Crate],
    left: Sequence[Item],
    asked: tuple[Left, ...],
    unfit: tuple[Left, ...],
    *,
    shrink: bool = True,
) -> Packing:
    kept = smaller_kinds(problem, crates) if shrink else list(crates)
    filled = tuple(Filled(crate.spec.code, tuple(sorted(one.thing.number for one in crate.items))) for crate in kept)
    no_room = tuple(Left(item.thing.number, "every crate is full") for item in left)
    return Packing(filled, asked, unfit, no_room)
