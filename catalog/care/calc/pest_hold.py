"""Ways to hold what came home against pests: how long each takes, and what must never be put through it. Pure.

Days: freezing at -20 °C 6 to 10 days and the bag shut until thawed, 24 to 48 hours (US National Park Service,
Conserve O Gram 3/6; Strang 1992); below -30 °C two days at the core (RAMM), three commonly taught; a thick piece is
cold at its core only after 20 to 36 hours (Bergh 2006); low oxygen 21 days under 0.5 %, 10 days at 0.1 % or less
(museumpests.net; Gunn 2006). Not frozen: paintings, magnetic media, glass, bone, ivory and shell (museumpests.net; a
museum's handout for textiles); foam latex and rubber, paint on leather or resin, wax, glass with metal, batteries:
common practice, no source. Not without oxygen: Prussian blue (museumpests.net). All read in excerpts.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from catalog.care.calc.hazards import words_of

WARMING_DAYS, CORE_DAYS = 2, 2
# Above this a piece counts as thick, as fur, leather and wadding always do: house judgement.
THICK_G = 3000
_THICK_FAMILIES = frozenset({"fur", "leather"})
_THICK_WORDS = frozenset({"wadding", "wadded", "quilted", "batting", "felt"})
_UNSAFE_TRIMS = frozenset({"bone", "ivory", "shell", "nacre", "pearl"})
_MAGNETIC = frozenset({"magnetic", "cassette"})
_WAX = frozenset({"wax", "beeswax"})
# Finishes that do not lie on the surface as a film; wax has its own sentence.
_IN_THE_FIBRE = frozenset({"dye", "ink", *_WAX})


@dataclass(frozen=True, slots=True)
class Method:
    """A way: its key, its words, its calendar days (None: the house's own), whether it chills or takes the oxygen."""

    key: str
    words: str
    days: int | None
    cold: bool = False
    airless: bool = False


METHODS = {
    one.key: one
    for one in (
        Method("watch", "kept apart and looked at", None),
        Method("freeze20", "freeze at −20 °C, bagged", 10, cold=True),
        Method("freeze30", "freeze at −30 °C, bagged", 3, cold=True),
        Method("oxygen05", "low oxygen, under 0.5 %", 21, airless=True),
        Method("oxygen01", "low oxygen, 0.1 % or less", 10, airless=True),
    )
}


@dataclass(frozen=True, slots=True)
class Stuff:
    """What a piece is made of: names with their family, grams (None: not weighed), and whether a battery is in it."""

    materials: tuple[tuple[str, str], ...] = ()
    weight_g: int | None = None
    battery: bool = False

    @property
    def families(self) -> frozenset[str]:
        """The families of all materials."""
        return frozenset(family for _, family in self.materials)

    @property
    def words(self) -> frozenset[str]:
        """Every word of the names."""
        return frozenset(word for name, _ in self.materials for word in words_of(name))

    @property
    def thick(self) -> bool:
        """Whether the cold needs longer to its core. What was not weighed counts as thick: longer never harms."""
        slow = self.families & _THICK_FAMILIES or self.words & _THICK_WORDS
        return bool(slow) or self.weight_g is None or self.weight_g > THICK_G


def days_of(method: Method, stuff: Stuff, house_days: int) -> int:
    """Calendar days from the first day to the release, thawing included."""
    if method.days is None:
        return house_days
    if not method.cold:
        return method.days
    return method.days + WARMING_DAYS + (CORE_DAYS if stuff.thick else 0)


def until(method: Method, stuff: Stuff, house_days: int, started: date) -> date:
    """The first day on which it may be released."""
    return started + timedelta(days=days_of(method, stuff, house_days))


def against(method: Method, stuff: Stuff) -> tuple[str, ...]:
    """Why the piece must not be put through it; empty when nothing that is known speaks against it.

    Unknown counts as a no: without materials, or with one whose family nobody has said, it goes through neither.
    """
    if not (method.cold or method.airless):
        return ()
    if not stuff.materials:
        return ("nobody has said what it is made of",)
    unsaid = sorted(name for name, family in stuff.materials if family == "other")
    reasons = [f"nobody has said what kind of material “{name}” is" for name in unsaid]
    if method.airless and "prussian" in stuff.words:
        reasons.append("Prussian blue changes its colour without oxygen")
    return (*reasons, *(_against_cold(stuff) if method.cold else ()))


def _against_cold(stuff: Stuff) -> Iterable[str]:
    families, words = stuff.families, stuff.words
    painted = any(family == "finish" and not _IN_THE_FIBRE & set(words_of(name)) for name, family in stuff.materials)
    if "foam rubber" in families:
        yield "foam latex and rubber stiffen and crack in the cold"
    if words & _WAX:
        yield "wax cracks in the cold"
    if painted and families & {"leather", "hard plastic", "fur"}:
        yield "paint on leather or resin flakes: both shrink, each in its own measure"
    elif painted:
        yield "paint and its ground shrink in different measure and flake"
    if {"glass", "metal"} <= families:
        yield "glass set in metal cracks: the metal shrinks more"
    elif "glass" in families:
        yield "glass and ceramic trims crack in the cold"
    if words & _UNSAFE_TRIMS:
        yield "bone, ivory and shell crack in the cold"
    if words & _MAGNETIC:
        yield "magnetic tape is spoilt in the cold"
    if stuff.battery or "electric" in families:
        yield "batteries and electrics are spoilt by cold and damp: have the pack taken out first"
