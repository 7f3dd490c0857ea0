"""What a carrier charges a crate by, and whether it passes as a checked bag. Each figure with where it comes from.

A carrier charges the greater of weight and volume weight. The divisors are those that carriers publish; each may differ
by contract, so the carrier's own paper decides. Whole numbers throughout: cubic millimetres by the divisor are grams.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from catalog.shipping.calc.pack_problem import Sides

POUND_G = 453.59237  # international yard and pound agreement, 1959
INCH_MM = 25.4


@dataclass(frozen=True, slots=True)
class Divisor:
    """How one way of sending turns volume into weight: cubic centimetres a kilogram, rounded up by a step."""

    way: str
    cm3_per_kg: int
    step_g: int
    source: str
    confidence: str


DIVISORS: tuple[Divisor, ...] = (
    Divisor("air freight", 6_000, 500, "forwarders' pages quoting the IATA tariff rules", "F2"),
    Divisor("courier", 5_000, 500, "express carriers' pages", "F2"),
    Divisor(
        "road, part load", 3_000, 1_000, "333 kg a cubic metre, usual in Europe; from memory, ask the haulier", "M"
    ),
)
IN3_PER_LB = 139
IN3_SOURCE = "express carriers' pages, inches: each side to the nearest inch, the weight to the next pound"


@dataclass(frozen=True, slots=True)
class Charged:
    """What the crates weigh, what their volume weighs, and the sum of what is charged, each crate by itself."""

    divisor: Divisor
    actual_g: int
    volume_g: int
    chargeable_g: int

    @property
    def by_volume(self) -> bool:
        """Whether the volume costs more than the weight."""
        return self.volume_g > self.actual_g


def volume_weight_g(outer_mm: Sides, divisor: Divisor) -> float:
    """What the volume counts as, in grams, not rounded."""
    return outer_mm[0] * outer_mm[1] * outer_mm[2] / divisor.cm3_per_kg


def chargeable_g(outer_mm: Sides, gross_g: int, divisor: Divisor) -> int:
    """The greater of weight and volume weight, up to the next step."""
    volume = outer_mm[0] * outer_mm[1] * outer_mm[2]
    most = max(-(-volume // divisor.cm3_per_kg), gross_g)
    return -(-most // divisor.step_g) * divisor.step_g


def volume_weight_lb(outer_mm: Sides) -> float:
    """Volume weight in pounds for carriers that reckon in inches: each side first to the nearest whole inch."""
    inches = [int(side / INCH_MM + 0.5) for side in outer_mm]
    return inches[0] * inches[1] * inches[2] / IN3_PER_LB


def chargeable_lb(outer_mm: Sides, gross_g: int) -> int:
    """The greater of both in pounds, up to the next pound."""
    most = max(volume_weight_lb(outer_mm), gross_g / POUND_G)
    return int(-(-most // 1))


def charged(crates: Iterable[tuple[Sides, int]], divisor: Divisor) -> Charged:
    """All crates (outer sides and gross weight) by one divisor."""
    rows = list(crates)
    return Charged(
        divisor,
        sum(gross for _, gross in rows),
        round(sum(volume_weight_g(outer, divisor) for outer, _ in rows)),
        sum(chargeable_g(outer, gross, divisor) for outer, gross in rows),
    )


BAG_SOURCE = "IATA page: 23 kg and 158 cm (length, width and height added); 32 kg and 203 cm from secondary pages"


def bag_class(outer_mm: Sides, gross_g: int) -> str:
    """How a crate would pass as a crew member's checked bag: "ok", "oversize" at a price, or "cargo only"."""
    around = sum(outer_mm)
    if gross_g > 32_000 or around > 2_030:
        return "cargo only"
    return "ok" if gross_g <= 23_000 and around <= 1_580 else "oversize"
