"""What is to be packed, into what, and by which rules: plain values that the packer and its checker both read.

The model is stated on every page that shows it. A crate is filled to a share of its inner volume, because things are
wrapped and leave gaps: house judgement. What must have nothing on it stands upright, side by side: either as the top
layer over the rest, or on the floor with the rest beside it and nothing over it up to the lid. What is heavy and
fragile stands on the floor. Two things share a crate only when the two alone could lie beside each other in it.
"""

from dataclasses import dataclass

Sides = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Thing:
    """A piece to pack: its weight and packed sides (length, width, height) or None where nobody knows them.

    `on_top`: nothing may lie on it, and it stands upright. `groups`: what its materials say to a neighbour. `outfit`:
    what is worn together by one performer. `alone`: it shares its crate with nothing.
    """

    number: str
    weight_g: int | None
    sides_mm: Sides | None
    on_top: bool = False
    heat: bool = False
    groups: frozenset[str] = frozenset()
    outfit: str = ""
    alone: bool = False


@dataclass(frozen=True, slots=True)
class Spec:
    """A kind of crate: what it takes inside, its own weight, what it may weigh full, and how many there are.

    `limit_g` is the smallest of what the crate, its carriers and its way allow; `count` None means as many as needed.
    """

    code: str
    inner_mm: Sides
    tare_g: int
    limit_g: int
    count: int | None = None


@dataclass(frozen=True, slots=True)
class PackRules:
    """How full a crate gets, from which weight a fragile thing stands on the floor, and which groups stay apart."""

    fill_percent: int = 80
    heavy_top_g: int = 5_000
    apart: frozenset[tuple[str, str]] = frozenset()


@dataclass(frozen=True, slots=True)
class Problem:
    """Things, kinds of crates in the order the house prefers them, and the rules."""

    things: tuple[Thing, ...]
    specs: tuple[Spec, ...]
    rules: PackRules = PackRules()


@dataclass(frozen=True, slots=True)
class Filled:
    """A crate of one kind with the numbers in it."""

    spec: str
    numbers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Left:
    """A thing that was not packed, and why."""

    number: str
    why: str


@dataclass(frozen=True, slots=True)
class Packing:
    """The crates; what was not packed because something is not known of it; what no crate takes; what found no room."""

    crates: tuple[Filled, ...]
    asked: tuple[Left, ...] = ()
    unfit: tuple[Left, ...] = ()
    no_room: tuple[Left, ...] = ()


def unknown_of(thing: Thing) -> str:
    """What must be asked before the thing can be packed; empty when all is known."""
    lacks = []
    if thing.weight_g is None:
        lacks.append("its weight")
    if thing.sides_mm is None:
        lacks.append("its packed size")
    return " and ".join(lacks)
