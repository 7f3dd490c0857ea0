"""What heat does to things: how hot a material may get, and how hot the places are in which things wait. Pure.

Limits are the highest air temperature we would leave a piece in. They are derived from published softening, shrinkage
and storage figures less a margin, or from memory; none is a published limit itself, and each row says which it is.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

MEMORY, DERIVED = "from memory", "derived"


@dataclass(frozen=True, slots=True)
class Limit:
    """One sort of material: the names an archive writes for it, its limit in °C, what happens above it."""

    words: str
    names: frozenset[str]
    max_c: int
    what: str
    basis: str
    hazards: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Situation:
    """A place in which things wait, how hot it gets, and who says so."""

    key: str
    words: str
    temp_c: int
    source: str


def _limit(words: str, max_c: int, what: str, basis: str, *names: str, hazards: Collection[str] = ()) -> Limit:
    return Limit(words, frozenset({words, *names}), max_c, what, basis, frozenset(hazards))


LIMITS: tuple[Limit, ...] = (
    _limit("gelatine prosthetic", 25, "melts and slumps", MEMORY, "gelatine"),
    _limit("degraded leather", 25, "shrinks for good", f"{DERIVED} (CoOL 19:38, 2006)", "red-rotted leather"),
    _limit("cellulose acetate", 30, "warps, smells of vinegar", MEMORY),
    _limit(
        "cellulose nitrate (celluloid)", 30, "decomposes; burns fast; a specialist decides",
        f"{MEMORY} (storage figures: maker's sheet H-182)", "celluloid", "cellulose nitrate", hazards=["celluloid"],
    ),
    _limit("shattered (weighted) silk", 30, "splits under its own weight", MEMORY, "shattered silk", "weighted silk"),
    _limit(
        "paraffin wax", 35, "softens, sticks to what lies on it", f"{DERIVED} (melts from 46 °C)", "wax", "paraffin",
        "waxed", "waxed canvas", "waxed cotton", "oiled cotton", "oiled canvas", "oilskin",
    ),
    _limit("PVC plasticised", 35, "goes tacky, sticks to its lining", MEMORY, "plasticised PVC", "soft PVC", "vinyl"),
    _limit("parchment / alum-tawed / chamois", 35, "shrinks for good", f"{DERIVED} (Conservation Science, leather)",
           "parchment", "alum-tawed", "chamois"),
    _limit("fur, feather, wool, silk", 35, "dries and fades; moth wakes", MEMORY, "fur", "old fur", "rabbit fur",
           "feather", "feathers", "wool", "silk", "silk lining", "silk velvet", "fur felt", "yak hair"),
    _limit(
        "natural rubber / foam latex", 40, "goes sticky, then brittle", f"{MEMORY} (WA Museum; V&A 2019)",
        "natural rubber", "rubber", "latex", "foam latex", hazards=["foam_latex", "natural_rubber"],
    ),
    _limit("polyurethane foam (polyester type)", 40, "crumbles", MEMORY),
    _limit("polyurethane foam (polyether type)", 40, "yellows and crumbles", MEMORY, "polyurethane foam",
           "polyurethane foam liner", "polyurethane sole"),
    _limit("photopolymer resin print", 40, "sags", f"{DERIVED} (HDT from 43 °C)", "photopolymer resin", "resin print",
           "printed resin"),
    _limit("vegetable-tanned leather (sound)", 40, "shrinks when damp and hot",
           f"{DERIVED} (Conservation Science, leather)", "leather", "vegetable-tanned leather"),
    _limit("PLA (printed)", 45, "sags", f"{DERIVED} (Tg 60 °C)", "PLA"),
    _limit("beeswax", 45, "softens", f"{DERIVED} (melts at 62 °C)"),
    _limit("aerosol / gas cartridge inside prop", 45, "may burst: take it out before it travels", MEMORY, "aerosol",
           "gas cartridge", hazards=["aerosol", "gas_cartridge"]),
    _limit("PVC rigid, vacuum-formed", 50, "relaxes towards a flat sheet", f"{DERIVED} (HDT from 57 °C)",
           "vacuum-formed PVC", "rigid PVC"),
    _limit("EVA hot-melt joints", 50, "joints creep and let go", MEMORY, "hot-melt glue", "hot-melt"),
    _limit("PETG / PET", 55, "softens", f"{DERIVED} (Tg 70 °C)", "PETG", "PET"),
    _limit("polystyrene / HIPS", 60, "softens", f"{DERIVED} (HDT from 68 °C)", "polystyrene", "HIPS"),
    _limit("ABS", 65, "softens", f"{DERIVED} (HDT 76 °C)"),
    _limit("acrylic PMMA", 80, "softens", f"{DERIVED} (Tg 105 °C)", "acrylic", "PMMA"),
    _limit("polycarbonate", 110, "softens", f"{DERIVED} (HDT 127 °C)"),
)  # fmt: skip
SHADE = Situation(
    "vehicle in shade", "vehicle parked in the shade, after an hour", 38, "study in a hot dry city, 2018, press"
)
SUN = Situation("vehicle in sun", "vehicle parked in the sun, after an hour", 47, SHADE.source)
BOX = Situation("container", "closed container or truck in the sun", 60, "two carriers' pages, secondary")
CABIN = Situation("closed car", "closed car on a clear summer day, mean of the peaks", 68, "Grundstein et al. 2009")
BARE = Situation("direct sun", "dark thing in direct sun, its surface", 70, "Padfield: up to 40 °C above the air")
SITUATIONS = (SHADE, SUN, BOX, CABIN, BARE)
OBJECT_CAUTION = (
    "Temperatures are of single studies in other places, and limits are derived or from memory: they say what to carry "
    "into the cool first, not what is safe. A conservator decides."
)


@dataclass(frozen=True, slots=True)
class Bears:
    """What a thing bears: the material that gives way first, and whether the table knows any of it."""

    weakest: Limit | None
    unlisted: tuple[str, ...]

    @property
    def max_c(self) -> int | None:
        """The lowest limit; None where the table knows nothing of the thing."""
        return None if self.weakest is None else self.weakest.max_c

    def answer(self, temp_c: float) -> str:
        """ "no" above the limit; "unknown" where no limit is known or a material is in no row; else "ok"."""
        if self.weakest is not None and temp_c > self.weakest.max_c:
            return "no"
        return "unknown" if self.weakest is None or self.unlisted else "ok"


def bears(materials: Iterable[str], hazards: Collection[str] = ()) -> Bears:
    """By the materials and by the hazards found and not cleared."""
    names = {name.casefold() for name in materials}
    found, listed = [], set()
    for limit in LIMITS:
        met = names & {name.casefold() for name in limit.names}
        if met or limit.hazards & set(hazards):
            found.append(limit)
            listed |= met
    weakest = min(found, key=lambda limit: limit.max_c, default=None)
    return Bears(weakest, tuple(sorted(names - listed)))


@dataclass(frozen=True, slots=True)
class Group:
    """Things that lie together, told by name: which of them gives way first, and how many a place harms."""

    name: str
    things: tuple[tuple[str, Bears], ...]

    @property
    def max_c(self) -> int | None:
        """The lowest limit of anything in it."""
        return min((one.max_c for _, one in self.things if one.max_c is not None), default=None)

    @property
    def weakest(self) -> list[str]:
        """The things with the lowest limit."""
        return [name for name, one in self.things if one.max_c is not None and one.max_c == self.max_c]

    @property
    def why(self) -> Limit | None:
        """The material that gives way first."""
        return next((one.weakest for _, one in self.things if one.max_c == self.max_c), None)

    def harmed(self, temp_c: float) -> int:
        """How many of them this heat harms."""
        return sum(one.answer(temp_c) == "no" for _, one in self.things)

    @property
    def unknown(self) -> int:
        """How many of them have no row in the table at all."""
        return sum(one.max_c is None for _, one in self.things)


def in_order(groups: Iterable[Group]) -> list[Group]:
    """Which to open first: the lowest limit, then the most things that a vehicle in the sun harms, then the name."""

    def first(group: Group) -> tuple[int, int, str]:
        return (1000 if group.max_c is None else group.max_c, -group.harmed(SUN.temp_c), group.name)

    return sorted(groups, key=first)
