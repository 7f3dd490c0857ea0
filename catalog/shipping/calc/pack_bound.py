"""How many crates are needed at least, whatever the packer: bounds that hold for every packing under the same rules.

By weight, by volume and by floor for what must have nothing on it: total over what the largest crate takes, and the
bound of Martello and Toth (Knapsack Problems, 1990, chapter 8, L2; from memory), which counts large things apart. What
must stand alone has a crate each; of two groups that stay apart each needs its own; and things of which no two lie in
one crate need one each. What is not packed (unknown, fits nothing) counts for nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

from catalog.shipping.calc.pack_problem import Problem, Sides, Spec, Thing


@dataclass(frozen=True, slots=True)
class Bound:
    """So many crates at least, and what asks for them."""

    least: int
    limit: str


def crates_needed(problem: Problem) -> Bound:
    """The best bound found, with what limits; of equal bounds weight is named before volume, floor and neighbours."""
    things = [thing for thing in problem.things if _is_packable(thing, problem.specs)]
    alone = [thing for thing in things if thing.alone]
    rest = [thing for thing in things if not thing.alone]
    bounds = _by_load(rest, problem)
    bounds += [_apart(rest, pair, problem) for pair in sorted(problem.rules.apart)]
    bounds.append(Bound(_none_together(rest, problem), "what cannot lie beside each other"))
    best = max(bounds, key=lambda bound: bound.least)
    return Bound(best.least + len(alone), "what must stand alone" if len(alone) > best.least else best.limit)


def martello_toth(sizes: Sequence[int], room: int) -> int:
    """The L2 bound for things of these sizes and crates of this room; sizes above the room count as the whole of it."""
    sizes = sorted((min(size, room) for size in sizes if size > 0), reverse=True)
    if not sizes or room <= 0:
        return 0
    best = 0
    for k in {0, *(size for size in sizes if 2 * size <= room)}:
        large = [size for size in sizes if size > room - k]
        middle = [size for size in sizes if room - k >= size and 2 * size > room]
        small = sum(size for size in sizes if size >= max(k, 1) and 2 * size <= room)
        over = small - (len(middle) * room - sum(middle))
        best = max(best, len(large) + len(middle) + max(0, -(-over // room)))
    return best


def _by_load(things: Sequence[Thing], problem: Problem) -> list[Bound]:
    specs, fill = problem.specs, problem.rules.fill_percent
    if not specs:
        return [Bound(0, "nothing")]
    net = max(spec.limit_g - spec.tare_g for spec in specs)
    # Percent of cubic and square millimetres, so that everything stays whole.
    room = max(fill * _volume(spec.inner_mm) for spec in specs)
    floor = max(fill * spec.inner_mm[0] * spec.inner_mm[1] for spec in specs)
    return [
        Bound(martello_toth([thing.weight_g or 0 for thing in things], net), "weight"),
        Bound(martello_toth([100 * _volume(_sides(thing)) for thing in things], room), "volume"),
        Bound(
            martello_toth([100 * _sides(t)[0] * _sides(t)[1] for t in things if t.on_top], floor),
            "what must have nothing on it",
        ),
    ]


def _apart(things: Sequence[Thing], pair: tuple[str, str], problem: Problem) -> Bound:
    """No crate holds both groups: each needs its own. What belongs to both is left out of the sum."""
    one = [thing for thing in things if pair[0] in thing.groups and pair[1] not in thing.groups]
    other = [thing for thing in things if pair[1] in thing.groups and pair[0] not in thing.groups]
    if not one or not other:
        return Bound(0, "bad neighbours")
    least = sum(max(bound.least for bound in _by_load(side, problem)) for side in (one, other))
    return Bound(least, f"{pair[0]} and {pair[1]} apart")


def _none_together(things: Sequence[Thing], problem: Problem) -> int:
    """A set of things of which no two lie in one crate, picked largest first: each needs a crate."""
    picked: list[Thing] = []
    for thing in sorted(things, key=lambda t: (-_volume(_sides(t)), t.number)):
        if not any(_may_share(thing, other, problem) for other in picked):
            picked.append(thing)
    return len(picked)


def _may_share(one: Thing, other: Thing, problem: Problem) -> bool:
    for a, b in problem.rules.apart:
        if (a in one.groups and b in other.groups) or (b in one.groups and a in other.groups):
            return False
    return any(_pair_fits(one, other, spec) for spec in problem.specs)


def _pair_fits(one: Thing, other: Thing, spec: Spec) -> bool:
    if (one.weight_g or 0) + (other.weight_g or 0) > spec.limit_g - spec.tare_g:
        return False
    mine, its = _lyings(one, spec), _lyings(other, spec)
    return any(m[axis] + i[axis] <= spec.inner_mm[axis] for axis in range(3) for m in mine for i in its)


def _lyings(thing: Thing, spec: Spec) -> list[Sides]:
    length, width, height = _sides(thing)
    turns = {(length, width, height), (width, length, height)} if thing.on_top else set(permutations(_sides(thing)))
    return [(a, b, c) for a, b, c in turns if a <= spec.inner_mm[0] and b <= spec.inner_mm[1] and c <= spec.inner_mm[2]]


def _is_packable(thing: Thing, specs: Sequence[Spec]) -> bool:
    if thing.weight_g is None or thing.sides_mm is None:
        return False
    return any(thing.weight_g <= spec.limit_g - spec.tare_g and _lyings(thing, spec) for spec in specs)


def _sides(thing: Thing) -> Sides:
    return thing.sides_mm or (0, 0, 0)


def _volume(sides: Sides) -> int:
    return sides[0] * sides[1] * sides[2]
