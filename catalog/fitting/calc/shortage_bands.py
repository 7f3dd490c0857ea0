"""Why a slot is short: the bodies between two sizes that share too few pieces. For the wardrobe: it tells sizes."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from catalog.fitting.calc.body import POINT_WORDS
from catalog.fitting.calc.plan_types import Problem
from catalog.fitting.calc.shortage_graph import SlotGraph, slot_graphs


@dataclass(frozen=True, slots=True)
class SizeBand:
    """`people` whose `point` lies from low to high (mm, weight g) can wear no more than `pieces` between them.

    `missing`, the difference, is proven to be short. Of the slot as a whole `deficiency` are short, which may be more.
    """

    role: str
    slot: str
    point: str
    low: int
    high: int
    people: int
    pieces: int
    deficiency: int
    sentence: str

    @property
    def missing(self) -> int:
        return self.people - self.pieces


def short_bands(problem: Problem, sizes: Mapping[str, Mapping[str, int]]) -> tuple[SizeBand, ...]:
    """For each slot that not everybody who may play its role can have: the band that is short of most pieces.

    `sizes` are the known ones by wearer and body point. A wearer without a point is in no band of it. A slot in which
    no band is short (its shortage comes of several points together, or of sizes that nobody knows) has no entry.
    """
    found = []
    for (role, slot), graph in slot_graphs(problem).items():
        if graph.deficiency:
            bands = [
                _widest(problem, graph, point, sizes, (role.code, slot))
                for point in sorted({point for known in sizes.values() for point in known})
            ]
            real = [band for band in bands if band is not None]
            if real:
                found.append(max(real, key=lambda band: (band.missing, -band.people)))
    return tuple(found)


def _widest(
    problem: Problem, graph: SlotGraph, point: str, sizes: Mapping[str, Mapping[str, int]], where: tuple[str, str]
) -> SizeBand | None:
    """The interval of one point with the most people above pieces, of those the one with fewest people."""
    people = []
    for row, number in enumerate(graph.wearers.tolist()):
        value = sizes.get(problem.wearers[number].code, {}).get(point)
        if value is not None:
            columns = graph.fits.indices[graph.fits.indptr[row] : graph.fits.indptr[row + 1]].tolist()
            people.append((value, sum(1 << column for column in columns)))
    best = _worst_interval(people)
    if best is None:
        return None
    low, high, many, pieces = best
    said = _sentence(problem, where[1], point, best, graph.deficiency)
    return SizeBand(*where, point, low, high, many, pieces, graph.deficiency, said)


def _worst_interval(people: Iterable[tuple[int, int]]) -> tuple[int, int, int, int] | None:
    """(low, high, people, pieces) of the interval with the largest people - pieces; None when none is above 0.

    Each person is a value and a set of pieces as the bits of a whole number. People of one value stand together.
    """
    grouped: dict[int, list[int]] = {}
    for value, pieces in people:
        grouped.setdefault(value, []).append(pieces)
    steps = [(value, len(own), _union(own)) for value, own in sorted(grouped.items())]
    best: tuple[int, int] = (0, 0)
    found = None
    for start, (low, _, _) in enumerate(steps):
        many = shared = 0
        for high, more, pieces in steps[start:]:
            many += more
            shared |= pieces
            count = shared.bit_count()
            if many > count and (many - count, -many) > best:
                best, found = (many - count, -many), (low, high, many, count)
    return found


def _union(sets: list[int]) -> int:
    whole = 0
    for one in sets:
        whole |= one
    return whole


def _sentence(problem: Problem, slot: str, point: str, band: tuple[int, int, int, int], deficiency: int) -> str:
    low, high, people, pieces = band
    words = POINT_WORDS.get(point, point.replace("_", " "))
    per, unit = (1000, "kg") if point == "weight" else (10, "cm")
    sizes = f"{low / per:.1f}" if low == high else f"{low / per:.1f} to {high / per:.1f}"
    who = "1 performer" if people == 1 else f"{people} performers"
    share = "can wear none" if not pieces else f"share {pieces} {'piece' if pieces == 1 else 'pieces'}"
    said = f"{problem.word(slot)}: {deficiency} short. {who} with {words} {sizes} {unit} {share}"
    missing = people - pieces
    return f"{said}, {missing} too few." if missing < deficiency else f"{said}: that is all of it."
