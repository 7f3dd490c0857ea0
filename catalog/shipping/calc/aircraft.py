"""Which crates are too large or too heavy for which aircraft hold. A crate stays upright: it may only be turned round.

The figures are a guide for asking, not an acceptance: carriers differ, and each row says where it comes from. Figures
from memory can say that a crate is too large to hope for; they never say that it fits, only that asking is worth it.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from catalog.shipping.calc.pack_problem import Sides

FITS, ASK, TOO_LARGE, TOO_HEAVY = "within", "ask the carrier", "too large", "too heavy"


@dataclass(frozen=True, slots=True)
class Hold:
    """A kind of hold: the most that one piece may be (length, width, height) or its door (width, height), and weigh."""

    name: str
    source: str
    confidence: str
    most_mm: Sides | None = None
    door_mm: tuple[int, int] | None = None
    most_g: int | None = None


HOLDS: tuple[Hold, ...] = (
    Hold(
        "narrow-body passenger aircraft, loose",
        "a forwarder's page: about 80 kg and 100 × 60 × 40 cm",
        "F2",
        most_mm=(1_000, 600, 400),
        most_g=80_000,
    ),
    Hold(
        "wide-body passenger aircraft, loose",
        "a forwarder's page: about 250 kg and 140 × 100 × 100 cm",
        "F2",
        most_mm=(1_400, 1_000, 1_000),
        most_g=250_000,
    ),
    Hold(
        "passenger aircraft, on a pallet",
        "forwarders' pages: 160 cm high at most; the door 270 × 170 cm from memory",
        "M",
        door_mm=(2_700, 1_600),
    ),
    Hold("freighter, main deck", "side door about 340 × 300 cm, from memory", "M", door_mm=(3_400, 3_000)),
)


@dataclass(frozen=True, slots=True)
class Passage:
    """Whether one crate goes into one hold, and why not."""

    hold: Hold
    word: str
    why: str = ""


def passage(outer_mm: Sides, gross_g: int, hold: Hold) -> Passage:
    """The answer for one crate and one kind of hold."""
    long, wide, high = max(outer_mm[:2]), min(outer_mm[:2]), outer_mm[2]
    if hold.most_g is not None and gross_g > hold.most_g:
        return Passage(hold, TOO_HEAVY, f"{gross_g / 1000:g} kg, at most about {hold.most_g / 1000:g} kg")
    if hold.most_mm is not None:
        over = [f"{_cm(a)} over {_cm(b)}" for a, b in zip((long, wide, high), hold.most_mm, strict=True) if a > b]
        if over:
            return Passage(hold, TOO_LARGE, ", ".join(over))
    if hold.door_mm is not None and (wide > hold.door_mm[0] or high > hold.door_mm[1]):
        over = [f"{_cm(a)} over {_cm(b)}" for a, b in zip((wide, high), hold.door_mm, strict=True) if a > b]
        return Passage(hold, TOO_LARGE, ", ".join(over))
    return Passage(hold, ASK if hold.confidence == "M" else FITS)


def too_much_for(crates: Iterable[tuple[str, Sides, int]]) -> list[tuple[Hold, tuple[str, ...]]]:
    """For each kind of hold the crates (by name) that are too large or too heavy for it."""
    rows = list(crates)
    return [
        (hold, tuple(n for n, outer, gross in rows if passage(outer, gross, hold).word in {TOO_LARGE, TOO_HEAVY}))
        for hold in HOLDS
    ]


def _cm(mm: int) -> str:
    return f"{mm / 10:g} cm"
