"""What the record of a piece says about packing it. The lists are common practice of packers, no source, unless named.

Heat: closed vehicles in the sun pass 55 °C (measured by several road safety bodies, read in a secondary page), at which
wax, oiled cloth, foam, rubber, glue and battery packs suffer.
"""

from collections.abc import Collection, Iterable, Mapping

from catalog.care.calc.hazards import CLEARED, words_of

_HEAT_WORDS = frozenset([
    "wax", "waxed", "oilskin", "oilskins", "oiled", "foam", "latex", "rubber", "neoprene", "glue", "glued", "celluloid",
    "polyurethane", "pvc", "vinyl", "lithium", "battery", "batteries", "chocolate", "gelatine", "silicone",
])  # fmt: skip
# Nothing lies on these: their shape is what they are.
_SHAPED_KINDS = frozenset(["helmet", "hat", "creature", "puppet", "model"])
_BRITTLE_WORDS = frozenset(["ceramic", "porcelain", "plaster", "straw", "papier", "celluloid", "feather"])
# Glass breaks; cloth of glass in resin, fibres of glass do not.
_NO_GLASS = frozenset(["cloth", "fibre", "fiber", "fibres", "fibers", "reinforced", "resin"])
# What a trained shipper decides on; until then it shares a crate with nothing.
_ALONE = frozenset(["radium", "asbestos", "mercury_article", "aerosol", "gas_cartridge", "pyrotechnic", "blanks"])


def heat_harms(materials: Iterable[str], hazards: Mapping[str, str]) -> bool:
    """Whether what it is made of, or a pack in it, suffers in a hot vehicle."""
    if hazards.get("battery", CLEARED) != CLEARED:
        return True
    return any(_HEAT_WORDS.intersection(words_of(material)) for material in materials)


def nothing_on_it(kind: str, materials: Iterable[str]) -> bool:
    """Whether it must stand upright with nothing on it."""
    return kind in _SHAPED_KINDS or any(_is_brittle(words_of(material)) for material in materials)


def stands_alone(hazards: Mapping[str, str]) -> bool:
    """Whether it shares its crate with nothing while one of these is open."""
    return any(hazards.get(code, CLEARED) != CLEARED for code in _ALONE)


def _is_brittle(words: tuple[str, ...]) -> bool:
    if _BRITTLE_WORDS.intersection(words):
        return True
    return "glass" in words and not _NO_GLASS.intersection(words)


def open_first(crates: Collection[tuple[int, bool]]) -> tuple[int, ...]:
    """The numbers of the crates to open first on arrival: those that hold what heat harms."""
    return tuple(number for number, is_hot in crates if is_hot)
