"""What must not lie together, and what must lie in a cabinet: the rows stand here once, each with where it comes from.

Only what lies in the same innermost place counts, and only between two pieces: a boot cannot be parted from its sole.
These warn and forbid nothing; LOCAL_RULES of care says who decides. Museum manuals on modern materials (Western
Australian Museum, "Modern organic materials") ask to keep rubber, PVC, polyurethane and cellulose plastics apart; CCI
Notes 15/3 tells of cellulose nitrate. What is marked "handbooks, from memory" was not looked up again.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from catalog.care.calc.hazards import CLEARED
from catalog.pieces.calc.materials import family_of

_MODERN = "Western Australian Museum, Modern organic materials"
_NITRATE = "CCI Notes 15/3"
_MEMORY = "handbooks, from memory"

# Group: words of which one stands in the material's name; a word that clears it again stands after it.
_NAMED: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "rubber or latex": (("rubber", "latex", "neoprene"), ("silicone",)),
    "soft PVC": (("pvc", "vinyl"), ("rigid",)),
    "polyurethane": (("polyurethane",), ()),
    "celluloid": (("celluloid", "cellulose nitrate", "nitrate film"), ()),
    "cellulose acetate": (("cellulose acetate", "acetate film"), ()),
    "silver, copper or brass": (("silver", "copper", "brass", "bronze"), ("paint", "coloured", "colored")),
    "lead": (("lead",), ("lead free", "lead-free")),
    "oak": (("oak",), ()),
    "silk": (("silk",), ("silk screen",)),
}
_FAMILIES = {"cloth": "cloth", "knit": "cloth", "metal": "metal", "leather": "leather", "paper": "paper"}


@dataclass(frozen=True, slots=True)
class Apart:
    """Two groups of materials that are kept apart, and why."""

    one: str
    other: str
    because: str
    source: str


_PLASTICS = ("rubber or latex", "soft PVC", "polyurethane", "celluloid", "cellulose acetate")
APART: tuple[Apart, ...] = (
    *(Apart(a, b, "each spoils the other with what it gives off", _MODERN) for a, b in combinations(_PLASTICS, 2)),
    *(
        Apart("celluloid", other, "its fumes are acid, and it burns fast", _NITRATE)
        for other in ("metal", "cloth", "leather", "paper")
    ),
    *(
        Apart("cellulose acetate", other, "its fumes are acid and smell of vinegar", _MEMORY)
        for other in ("metal", "paper")
    ),
    Apart("soft PVC", "silk", "it weeps softener, which sticks and stains", _MEMORY),
    Apart("soft PVC", "metal", "its fumes are acid", _MEMORY),
    Apart("rubber or latex", "silver, copper or brass", "the sulphur in it tarnishes them", _MEMORY),
    Apart("lead", "oak", "acid from the wood turns lead to white powder", _MEMORY),
)

# Hazards that are kept locked or in a cabinet of their own: common practice, no source. Local rules decide.
IN_A_CABINET: Mapping[str, str] = {
    "battery": "batteries outside a cabinet",
    "radium": "radium paint outside a cabinet",
    "asbestos": "asbestos outside a cabinet",
    "celluloid": "celluloid outside a cabinet",
    "mercury_article": "mercury outside a cabinet",
    "aerosol": "aerosols outside a cabinet",
    "gas_cartridge": "gas cartridges outside a cabinet",
    "pyrotechnic": "pyrotechnics, which do not belong in this store",
    "blanks": "blank cartridges outside a cabinet",
    "replica_gun": "replica guns outside a cabinet",
}
SWOLLEN_IN_CABINET = "a damaged battery pack in a cabinet: it belongs alone, apart from other cells"


@dataclass(frozen=True, slots=True)
class Lying:
    """A piece where it lies: its innermost place, whether that is in a cabinet, its materials and open hazards."""

    number: str
    place: str
    in_cabinet: bool
    materials: tuple[str, ...] = ()
    hazards: Mapping[str, str] | None = None
    damaged_pack: bool = False


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing that is wrong in a place: what, which pieces (with what they lie beside), why, and the source."""

    place: str
    what: str
    numbers: tuple[str, ...]
    others: tuple[str, ...] = ()
    because: str = ""
    source: str = ""


def groups_of(materials: Iterable[str]) -> frozenset[str]:
    """The groups a piece belongs to, by the words of its materials."""
    found = set()
    for material in materials:
        name = material.lower()
        words = f" {' '.join(name.replace('-', ' ').split())} "
        for group, (having, but_not) in _NAMED.items():
            if any(f" {word} " in words for word in having) and not any(word in name for word in but_not):
                found.add(group)
        if family := _FAMILIES.get(family_of(material)):
            found.add(family)
    return frozenset(found)


def troubles(lying: Sequence[Lying]) -> list[Trouble]:
    """Everything that is wrong, place by place: hazards outside a cabinet first, then bad neighbours."""
    by_place: dict[str, list[Lying]] = defaultdict(list)
    for one in lying:
        by_place[one.place].append(one)
    found = [trouble for place, there in by_place.items() for trouble in _hazards(place, there)]
    return found + [trouble for place, there in by_place.items() for trouble in _neighbours(place, there)]


def _hazards(place: str, there: list[Lying]) -> Iterable[Trouble]:
    swollen = tuple(one.number for one in there if one.damaged_pack and one.in_cabinet)
    if swollen:
        yield Trouble(place, SWOLLEN_IN_CABINET, swollen, source="common practice, no source")
    for code, words in IN_A_CABINET.items():
        numbers = []
        for one in there:
            state = (one.hazards or {}).get(code, CLEARED)
            # A damaged pack is not sent into the cabinet: that it lies outside is right.
            if one.in_cabinet or state == CLEARED or (code == "battery" and one.damaged_pack):
                continue
            numbers.append(one.number if state == "confirmed" else f"{one.number} ({state})")
        if numbers:
            yield Trouble(place, words, tuple(numbers), source="common practice, no source")


def _neighbours(place: str, there: list[Lying]) -> Iterable[Trouble]:
    groups = {one.number: groups_of(one.materials) for one in there}
    for rule in APART:
        having = [number for number, own in groups.items() if rule.one in own]
        beside = [number for number, own in groups.items() if rule.other in own]
        # A piece that is made of both is no neighbour of itself.
        if having and beside and len({*having, *beside}) > 1:
            others = tuple(number for number in beside if number not in having or len(having) > 1)
            if others:
                yield Trouble(
                    place, f"{rule.one} beside {rule.other}", tuple(having), others, rule.because, rule.source
                )
