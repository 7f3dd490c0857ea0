"""How well a found thing agrees with a piece that is looked for, fact by fact. It ranks; a person says yes.

Each fact that both have adds points when it agrees and takes some when it does not; a fact that one of them lacks says
nothing and is named. The points are set from judgement (common practice, no source): what rarely agrees by chance
(a measure, a look-alike picture) weighs more than what often does (a material).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

KIND, PRODUCTION, MATERIAL, SIZE_MARK, WEIGHT, NEAR_BY, PICTURE = 3.0, 1.5, 1.5, 1.0, 1.0, 0.5, 3.0
MEASURE, MEASURES_COUNTED = 1.5, 3
# Two people measuring the same piece differ by about this much: the larger of the two counts.
TOLERANCE_MM, TOLERANCE_SHARE = 10, 0.02
WEIGHT_SHARE = 0.10
LOOKS_ALIKE, LOOKS_SOMEWHAT = 10, 18


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of a thing; None and empty mean not known. Words are what a page may say."""

    kind: str
    kind_word: str = ""
    production: str = ""
    materials: frozenset[str] = frozenset()
    size_mark: str = ""
    weight_g: int | None = None
    measures: Mapping[str, int] = field(default_factory=dict)
    room: str = ""


@dataclass(frozen=True, slots=True)
class Likeness:
    """The points, and in words what agrees, what does not, and what could not be compared."""

    points: float
    agrees: tuple[str, ...]
    differs: tuple[str, ...]
    unknown: tuple[str, ...]


@dataclass(slots=True)
class _Sum:
    points: float = 0.0
    agrees: list[str] = field(default_factory=list)
    differs: list[str] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)

    def add(self, points: float, words: str) -> None:
        """A fact that both have: it agrees when it brings points."""
        self.points += points
        (self.agrees if points > 0 else self.differs).append(words)


def likeness(found: Facts, sought: Facts, point_words: Mapping[str, str], bits: int | None = None) -> Likeness:
    """How the found thing agrees with a piece; `bits`: how far their nearest pictures differ, None if not compared."""
    said = _Sum()
    same = found.kind == sought.kind
    said.add(KIND if same else -KIND - 1, sought.kind_word or sought.kind)
    _word("production", found.production, sought.production, PRODUCTION, said)
    _materials(found, sought, said)
    _word("size mark", found.size_mark, sought.size_mark, SIZE_MARK, said)
    _measures(found, sought, point_words, said)
    _weight(found, sought, said)
    if found.room and found.room == sought.room:
        said.add(NEAR_BY, f"last known in {sought.room}, where this was found")
    _picture(bits, said)
    return Likeness(round(said.points, 3), tuple(said.agrees), tuple(said.differs), tuple(said.unknown))


def _word(name: str, one: str, other: str, points: float, said: _Sum) -> None:
    if not one or not other:
        said.unknown.append(name)
    elif one.casefold() == other.casefold():
        said.add(points, f"{name} {other}")
    else:
        said.add(-points, f"{name} {other}, not {one}")


def _materials(found: Facts, sought: Facts, said: _Sum) -> None:
    one, other = ({name.casefold() for name in facts.materials} for facts in (found, sought))
    if not one or not other:
        said.unknown.append("materials")
        return
    both = one & other
    if both:
        said.add(MATERIAL * len(both) / len(one), f"material {', '.join(sorted(both))}")
    else:
        said.add(-MATERIAL, f"material {', '.join(sorted(other)[:3])}")


def _measures(found: Facts, sought: Facts, words: Mapping[str, str], said: _Sum) -> None:
    """The first few points count; one that is far off takes as much as one that agrees brings."""
    both = [point for point in found.measures if point in sought.measures]
    if not both:
        said.unknown.append("measures")
    for point in both[:MEASURES_COUNTED]:
        one, other = found.measures[point], sought.measures[point]
        off = abs(one - other)
        allowed = max(TOLERANCE_MM, TOLERANCE_SHARE * other)
        name = words.get(point, point)
        if off <= allowed:
            said.add(MEASURE, f"{name} within {off} mm" if off else f"{name} the same")
        else:
            said.add(-MEASURE if off > 2 * allowed else -MEASURE / 3, f"{name} {off} mm off")


def _weight(found: Facts, sought: Facts, said: _Sum) -> None:
    if found.weight_g is None or sought.weight_g is None:
        said.unknown.append("weight")
        return
    off = abs(found.weight_g - sought.weight_g) / sought.weight_g
    if off <= WEIGHT_SHARE:
        said.add(WEIGHT, "weight")
    else:
        said.add(-WEIGHT if off > 3 * WEIGHT_SHARE else -WEIGHT / 3, f"weight {round(100 * off)} % off")


def _picture(bits: int | None, said: _Sum) -> None:
    """Another view looks different, so a picture that does not look alike says nothing against."""
    if bits is None:
        said.unknown.append("pictures")
    elif bits <= LOOKS_ALIKE:
        said.add(PICTURE, "the pictures look alike")
    elif bits <= LOOKS_SOMEWHAT:
        said.add(PICTURE / 3, "the pictures look somewhat alike")
    else:
        said.unknown.append("pictures: none looks alike, it may be another view")
