"""What lies where in a crate, and where its weight is: an order to lay things in and an estimate of the centre.

Heavy things first and low, by the middle, then to both ends in turn so that neither end is the heavier; what must have
nothing on it last, or on the floor where it is heavy. Across the width all is taken as even. The centre is an estimate
for choosing where to hold, never for rigging.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from catalog.shipping.calc.pack_problem import PackRules, Spec, Thing

MIDDLE, LEFT, RIGHT, ALONG = "middle", "left end", "right end", "along the whole length"
FLOOR, TOP = "on the floor, nothing on it", "on top, nothing on it"


@dataclass(frozen=True, slots=True)
class Laid:
    """One thing in the order of laying: at which part of the length, and a word where it must stay free."""

    number: str
    bay: str
    free: str = ""


@dataclass(frozen=True, slots=True)
class Centre:
    """Where the weight of crate and load is: millimetres from the middle (minus: to the left), and above its floor."""

    off_mm: int
    above_mm: int
    gross_g: int
    top_heavy: bool

    @property
    def words(self) -> str:
        """Where to expect the weight."""
        if abs(self.off_mm) < 10:
            along = "in the middle of its length"
        else:
            along = f"{abs(self.off_mm) / 10:.0f} cm {'left' if self.off_mm < 0 else 'right'} of the middle"
        return f"{along}, {self.above_mm / 10:.0f} cm above its floor"


@dataclass(frozen=True, slots=True)
class Lying:
    """The order of laying and the centre that comes of it."""

    laid: tuple[Laid, ...]
    centre: Centre


class _Bays:
    """Thirds of the length, how deep each is filled, and the turning weight about the middle."""

    def __init__(self, spec: Spec, rules: PackRules) -> None:
        self.length, self.width, self.height = spec.inner_mm
        self.floor = self.length * self.width * rules.fill_percent / 100 / 3
        self.at = {MIDDLE: 0.0, LEFT: -self.length / 3, RIGHT: self.length / 3, ALONG: 0.0}
        self.depth = {MIDDLE: 0.0, LEFT: 0.0, RIGHT: 0.0}
        self.turning = self.lifted = self.weight = 0.0

    def lay(self, weight: int, volume: int) -> str:
        """Into the bay with room that keeps the turning weight smallest; if none has room, the emptiest."""
        deep = volume / self.floor
        room = [bay for bay in self.depth if self.depth[bay] + deep <= self.height]
        bay = min(room or self.depth, key=lambda one: (abs(self.turning + weight * self.at[one]), self.depth[one]))
        if not room:
            bay = min(self.depth, key=self.depth.__getitem__)
        self.count(weight, bay, self.depth[bay] + deep / 2)
        self.depth[bay] += deep
        return bay

    def lay_along(self, weight: int, volume: int) -> str:
        """Over the whole length."""
        deep = volume / self.floor / 3
        low = max(self.depth.values())
        self.count(weight, ALONG, low + deep / 2)
        for bay in self.depth:
            self.depth[bay] = low + deep
        return ALONG

    def count(self, weight: float, bay: str, above: float) -> None:
        """Its weight at its place."""
        self.turning += weight * self.at[bay]
        self.lifted += weight * min(above, self.height)
        self.weight += weight


def lay(things: Sequence[Thing], spec: Spec, rules: PackRules) -> Lying:
    """The order of laying for things whose weight and size are known."""
    bays = _Bays(spec, rules)
    upright = sorted((t for t in things if t.on_top), key=_heavy_first)
    rest = sorted((t for t in things if not t.on_top), key=_heavy_first)
    # As the packer reckons: where the rest and the tallest do not go over each other, all upright things get the floor.
    bed = sum(_volume(thing) for thing in rest) / (bays.floor * 3)
    tallest = max((thing.sides_mm[2] for thing in upright if thing.sides_mm), default=0)
    heavy = any((thing.weight_g or 0) > rules.heavy_top_g for thing in upright)
    on_floor = bool(upright) and (heavy or not rest or bed + tallest > bays.height)
    bays.count(spec.tare_g, MIDDLE, bays.height / 2)
    laid = [_stand(thing, bays, FLOOR) for thing in upright] if on_floor else []
    for thing in rest:
        weight, volume = thing.weight_g or 0, _volume(thing)
        is_long = max(thing.sides_mm or (0,)) * 3 > bays.length * 2
        laid.append(Laid(thing.number, bays.lay_along(weight, volume) if is_long else bays.lay(weight, volume)))
    if not on_floor:
        laid += [_stand(thing, bays, TOP) for thing in upright]
    gross = spec.tare_g + sum(thing.weight_g or 0 for thing in things)
    above = bays.lifted / bays.weight if bays.weight else 0
    off = bays.turning / bays.weight if bays.weight else 0
    centre = Centre(round(off), round(above), gross, top_heavy=above > bays.height / 2)
    return Lying(tuple(laid), centre)


def _stand(thing: Thing, bays: _Bays, free: str) -> Laid:
    """Upright in the bay that keeps the balance, on the floor or on what lies there."""
    weight, sides = thing.weight_g or 0, thing.sides_mm or (0, 0, 0)
    bay = min(bays.depth, key=lambda one: (abs(bays.turning + weight * bays.at[one]), bays.depth[one]))
    low = 0.0 if free == FLOOR else bays.depth[bay]
    bays.count(weight, bay, low + sides[2] / 2)
    if free == FLOOR:
        bays.depth[bay] += sides[0] * sides[1] * bays.height / bays.floor
    return Laid(thing.number, bay, free)


def _heavy_first(thing: Thing) -> tuple[int, str]:
    return -(thing.weight_g or 0), thing.number


def _volume(thing: Thing) -> int:
    length, width, height = thing.sides_mm or (0, 0, 0)
    return length * width * height
