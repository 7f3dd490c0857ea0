"""Is this packing right? Asked of everything that is shown or kept. It shares no code with the packer.

It reads the problem and the crates alone, works everything out again from the plainest definition, and names each fault
in a sentence. No fault means that the packing keeps every rule of the problem.
"""

from collections import Counter
from collections.abc import Mapping, Sequence

from catalog.shipping.calc.pack_problem import Packing, PackRules, Problem, Spec, Thing


def faults(problem: Problem, packing: Packing) -> list[str]:
    """Everything that is wrong with the packing; empty when nothing is."""
    things = {thing.number: thing for thing in problem.things}
    specs = {spec.code: spec for spec in problem.specs}
    found = _counted(things, packing)
    for code, used in Counter(crate.spec for crate in packing.crates).items():
        if code not in specs:
            found.append(f"There is no kind of crate {code}.")
        elif (have := specs[code].count) is not None and used > have:
            found.append(f"{used} crates {code} are used and only {have} are there.")
    for place, crate in enumerate(packing.crates, start=1):
        if crate.spec in specs:
            inside = [things[number] for number in crate.numbers if number in things]
            found += [f"Crate {place}: {wrong}" for wrong in crate_faults(inside, specs[crate.spec], problem.rules)]
    return found


def crate_faults(inside: Sequence[Thing], spec: Spec, rules: PackRules) -> list[str]:
    """Everything that is wrong in one crate."""
    unknown = [t.number for t in inside if t.weight_g is None or t.sides_mm is None]
    if unknown:
        return [f"{', '.join(unknown)}: weight or size is not known."]
    found = [f"{t.number} does not go into it." for t in inside if not _goes_in(t, spec)]
    if not inside:
        return ["nothing lies in it."]
    gross = spec.tare_g + sum(thing.weight_g or 0 for thing in inside)
    if gross > spec.limit_g:
        found.append(f"it weighs {gross} g and may weigh {spec.limit_g} g.")
    if len(inside) == 1:
        return found
    found += [f"{thing.number} must stand alone." for thing in inside if thing.alone]
    found += _crowded(inside, spec, rules)
    for at, one in enumerate(inside):
        for other in inside[at + 1 :]:
            if not _beside(one, other, spec):
                found.append(f"{one.number} and {other.number} do not fit beside each other.")
            for a, b in _against(one, other, rules):
                found.append(f"{one.number} ({a}) lies beside {other.number} ({b}).")
    return found


def _counted(things: Mapping[str, Thing], packing: Packing) -> list[str]:
    told = [number for crate in packing.crates for number in crate.numbers]
    told += [left.number for left in (*packing.asked, *packing.unfit, *packing.no_room)]
    times = Counter(told)
    found = [f"{number} is on the list {often} times." for number, often in times.items() if often > 1]
    found += [f"{number} is not among what was to be packed." for number in times if number not in things]
    return found + [f"{number} is neither packed nor named." for number in things if number not in times]


def _goes_in(thing: Thing, spec: Spec) -> bool:
    """Upright things turn on the floor only; the rest may lie any way: then sorted sides against sorted room decide."""
    length, width, height = thing.sides_mm or (0, 0, 0)
    if thing.on_top:
        long, short = max(length, width), min(length, width)
        return height <= spec.inner_mm[2] and long <= max(spec.inner_mm[:2]) and short <= min(spec.inner_mm[:2])
    return all(a <= b for a, b in zip(sorted((length, width, height)), sorted(spec.inner_mm), strict=True))


def _crowded(inside: Sequence[Thing], spec: Spec, rules: PackRules) -> list[str]:
    """The floor that fragile things ask for, then the rest under them or beside them; as shares of the whole."""
    long, wide, high = spec.inner_mm
    upright = [thing.sides_mm for thing in inside if thing.on_top and thing.sides_mm]
    lying = [thing.sides_mm for thing in inside if not thing.on_top and thing.sides_mm]
    rest = sum(a * b * c for a, b, c in lying)
    taken = sum(a * b for a, b, _ in upright)
    usable = rules.fill_percent * long * wide
    if taken * 100 > usable:
        return ["what must have nothing on it needs more floor than there is."]
    tallest = max((c for _, _, c in upright), default=0)
    heavy = any(thing.on_top and (thing.weight_g or 0) > rules.heavy_top_g for thing in inside)
    under = not heavy and rest * 100 <= usable * (high - tallest)
    next_to = rest * 100 <= (usable - 100 * taken) * high
    return [] if under or next_to else ["it is fuller than it may be."]


def _beside(one: Thing, other: Thing, spec: Spec) -> bool:
    """Whether a wall across the crate, along one of its three sides, can have one thing on each side of it."""
    for axis, room in enumerate(spec.inner_mm):
        rest = [side for at, side in enumerate(spec.inner_mm) if at != axis]
        needs = [_least_along(thing, axis, room, rest) for thing in (one, other)]
        if None not in needs and sum(need or 0 for need in needs) <= room:
            return True
    return False


def _least_along(thing: Thing, axis: int, room: int, rest: Sequence[int]) -> int | None:
    """The least of the crate's side that the thing takes when its other two sides fit the other two."""
    sides = thing.sides_mm or (0, 0, 0)
    choices = []
    for at, along in enumerate(sides):
        if thing.on_top and (at == 2) != (axis == 2):
            continue
        a, b = (side for place, side in enumerate(sides) if place != at)
        if thing.on_top and axis != 2:
            # The height stands against the crate's height, which is the last of the rest.
            fits = a <= rest[0] and b <= rest[1]
        else:
            fits = max(a, b) <= max(rest) and min(a, b) <= min(rest)
        if fits and along <= room:
            choices.append(along)
    return min(choices, default=None)


def _against(one: Thing, other: Thing, rules: PackRules) -> list[tuple[str, str]]:
    found = []
    for a, b in sorted(rules.apart):
        if a in one.groups and b in other.groups:
            found.append((a, b))
        elif b in one.groups and a in other.groups:
            found.append((b, a))
    return found
