"""One crate while it is being filled: what it holds, and whether it takes one thing more."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import permutations

from catalog.shipping.calc.pack_problem import PackRules, Sides, Spec, Thing


@dataclass(frozen=True, slots=True, eq=False)
class Item:
    """A thing with what the search asks of it again and again; `shares` are parts of the largest crate of all."""

    thing: Thing
    weight: int
    volume: int
    area: int
    height: int
    banned: frozenset[str]
    reach: dict[str, Sides]
    heavy_top: bool
    shares: tuple[float, float, float]

    @property
    def size(self) -> float:
        """The part of a crate it takes by whatever it takes most of."""
        return max(self.shares)


def reach_in(thing: Thing, spec: Spec) -> Sides | None:
    """The least room it takes along each side of the crate, over all ways it can lie there; None when it cannot."""
    if thing.sides_mm is None:
        return None
    length, width, height = thing.sides_mm
    turns = [(length, width, height), (width, length, height)] if thing.on_top else list(permutations(thing.sides_mm))
    lying = [turn for turn in turns if all(side <= room for side, room in zip(turn, spec.inner_mm, strict=True))]
    if not lying:
        return None
    return min(t[0] for t in lying), min(t[1] for t in lying), min(t[2] for t in lying)


def items_of(things: Iterable[Thing], specs: Iterable[Spec], rules: PackRules) -> list[Item]:
    """The things as the search sees them; each has its weight and sides and goes into at least one kind of crate."""
    kinds = list(specs)
    net = max(spec.limit_g - spec.tare_g for spec in kinds)
    room = max(_volume(spec.inner_mm) for spec in kinds) * rules.fill_percent / 100
    floor = max(spec.inner_mm[0] * spec.inner_mm[1] for spec in kinds) * rules.fill_percent / 100
    made = []
    for thing in things:
        sides, weight = thing.sides_mm or (0, 0, 0), thing.weight_g or 0
        area = sides[0] * sides[1] if thing.on_top else 0
        banned = {b for a, b in rules.apart if a in thing.groups} | {a for a, b in rules.apart if b in thing.groups}
        reach = {
            spec.code: found
            for spec in kinds
            if weight <= spec.limit_g - spec.tare_g and (found := reach_in(thing, spec)) is not None
        }
        made.append(
            Item(
                thing=thing,
                weight=weight,
                volume=_volume(sides),
                area=area,
                height=sides[2] if thing.on_top else 0,
                banned=frozenset(banned),
                reach=reach,
                heavy_top=thing.on_top and weight > rules.heavy_top_g,
                shares=(weight / max(net, 1), _volume(sides) / room, area / floor),
            )
        )
    return made


class Crate:
    """A crate of one kind and its load, kept summed up so that one question costs little."""

    def __init__(self, spec: Spec, rules: PackRules) -> None:
        self.spec = spec
        self.fill = rules.fill_percent
        self.items: list[Item] = []
        self.weight = self.bed = self.area = 0
        self.hot = 0
        self.groups: Counter[str] = Counter()
        self.outfits: Counter[str] = Counter()
        self.bulky: list[Item] = []
        length, width, self.height = spec.inner_mm
        self.floor = length * width
        self.net = spec.limit_g - spec.tare_g

    def takes(self, item: Item) -> bool:
        """Whether the thing may go in as well."""
        if self.spec.code not in item.reach or self.weight + item.weight > self.net:
            return False
        if not self.items:
            return True
        if item.thing.alone or self.items[0].thing.alone:
            return False
        return self._has_room(item) and not self._is_bad_neighbour(item) and self._lies_beside(item)

    def add(self, item: Item) -> None:
        """Put it in; the caller has asked."""
        self.items.append(item)
        self._count(item, 1)
        if self._is_bulky(item):
            self.bulky.append(item)

    def remove(self, item: Item) -> None:
        """Take it out again."""
        self.items.remove(item)
        self._count(item, -1)
        if item in self.bulky:
            self.bulky.remove(item)

    @property
    def load(self) -> float:
        """How full it is by whatever it is fullest of, as a part of what it takes."""
        room = self.floor * self.height * self.fill / 100
        floor = self.floor * self.fill / 100
        tall = self.area * max((item.height for item in self.items), default=0)
        return max(self.weight / max(self.net, 1), (self.bed + tall) / room, self.area / floor)

    def _count(self, item: Item, sign: int) -> None:
        self.weight += sign * item.weight
        self.area += sign * item.area
        if not item.area:
            self.bed += sign * item.volume
        self.hot += sign * item.thing.heat
        self.outfits[item.thing.outfit] += sign
        for group in item.thing.groups:
            self.groups[group] += sign

    def _has_room(self, item: Item) -> bool:
        area = self.area + item.area
        bed = self.bed + (0 if item.area else item.volume)
        filled = self.fill * self.floor
        if 100 * area > filled:
            return False
        if 100 * bed + 100 * area * self.height <= filled * self.height:
            return True
        if item.heavy_top or any(one.heavy_top for one in self.items):
            return False
        tallest = max(item.height, *(one.height for one in self.items))
        return 100 * bed <= filled * (self.height - tallest)

    def _is_bad_neighbour(self, item: Item) -> bool:
        return any(self.groups[group] > 0 for group in item.banned)

    def _is_bulky(self, item: Item) -> bool:
        reach = item.reach[self.spec.code]
        return any(2 * side > room for side, room in zip(reach, self.spec.inner_mm, strict=True))

    def _lies_beside(self, item: Item) -> bool:
        """Two things that are each at most half the crate along every side always lie beside each other."""
        others = self.items if self._is_bulky(item) else self.bulky
        code, inner, mine = self.spec.code, self.spec.inner_mm, item.reach[self.spec.code]
        for other in others:
            its = other.reach[code]
            if mine[0] + its[0] > inner[0] and mine[1] + its[1] > inner[1] and mine[2] + its[2] > inner[2]:
                return False
        return True


def _volume(sides: Sides) -> int:
    return sides[0] * sides[1] * sides[2]
