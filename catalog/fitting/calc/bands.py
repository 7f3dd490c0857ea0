"""How much larger or smaller than the body a piece may be: the house's bands, and the bodies that a piece then fits."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

MM_PER_INCH = 25.4


class Scale(StrEnum):
    """In what the ease of a band is counted."""

    MM = "mm"
    EU_SHOE = "eu_shoe"


@dataclass(frozen=True, slots=True)
class Band:
    """A piece fits when min_ease <= garment - body <= max_ease; None leaves that side open.

    The ease is in mm; on the scale `eu_shoe` in whole EU sizes, and the garment point then holds the last length in mm.
    With `uses_let_out` the reserve of that garment point is taken off min_ease: the piece can be let out so far.
    A body inside a piece's own range is two bands: (height, height_min, None, 0) and (height, height_max, 0, None).
    Between good_min and good_max, inside the wearable range, it sits well without letting out; None: nobody has said.
    """

    body_point: str
    garment_point: str
    min_ease: int | None
    max_ease: int | None
    uses_let_out: bool = False
    scale: Scale = Scale.MM
    good_min: int | None = None
    good_max: int | None = None

    @property
    def says_good(self) -> bool:
        """Whether the house has said when it sits well."""
        return self.good_min is not None and self.good_max is not None


@dataclass(frozen=True, slots=True)
class Garment:
    """Measures of a piece by garment point, and how far each can be let out; mm. An absent point was not measured."""

    values: Mapping[str, int] = field(default_factory=dict)
    let_out: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Span:
    """The body values (mm, both ends included) that one band allows for one piece, and those on which it sits well."""

    body_point: str
    garment_point: str
    low: int | None
    high: int | None
    scale: Scale = Scale.MM
    good: tuple[int, int] | None = None

    def holds(self, value: int) -> bool:
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


@dataclass(frozen=True, slots=True)
class Wearable:
    """Every span of a piece, and the garment points that a band asks for and nobody measured."""

    spans: tuple[Span, ...]
    not_measured: tuple[str, ...]

    def by_point(self) -> dict[str, tuple[int | None, int | None]]:
        """Per body point the values that every span allows. A low end above the high one means: nobody."""
        found: dict[str, tuple[int | None, int | None]] = {}
        for span in self.spans:
            low, high = found.get(span.body_point, (None, None))
            low = span.low if low is None else low if span.low is None else max(low, span.low)
            high = span.high if high is None else high if span.high is None else min(high, span.high)
            found[span.body_point] = (low, high)
        return found


def inch_to_mm(inch: float) -> int:
    """Whole millimetres, half up."""
    return int(inch * MM_PER_INCH + 0.5)


def eu_to_mm(eu: float) -> int:
    """Last length in mm of an EU shoe size: two thirds of a centimetre a size (ISO/TS 19407, Paris point)."""
    return int(eu * 20 / 3 + 0.5)


def mm_to_eu(last_mm: int) -> float:
    """EU size to the nearest half of a last length in mm."""
    return int(last_mm * 3 / 20 * 2 + 0.5) / 2


def body_eu(foot_mm: int) -> int:
    """EU size a foot asks for: (foot length in cm + 1.5) x 1.5, half up. Common practice, no source."""
    return ((foot_mm + 15) * 3 + 10) // 20


def _foot_of_eu(half_sizes: int, *, highest: bool) -> int:
    """The shortest (or longest) foot in whole mm whose EU size is at least (at most) half_sizes / 2."""
    if highest:
        size = half_sizes // 2
        return (20 * size + 9) // 3 - 15
    size = -(-half_sizes // 2)
    return -(-(20 * size - 10) // 3) - 15


def _span(band: Band, value: int, let_out: int) -> Span:
    reserve = let_out if band.uses_let_out else 0
    if band.scale is Scale.EU_SHOE:
        halves = int(mm_to_eu(value) * 2)
        low = None if band.max_ease is None else _foot_of_eu(halves - 2 * band.max_ease, highest=False)
        high = None if band.min_ease is None else _foot_of_eu(halves - 2 * band.min_ease, highest=True)
    else:
        low = None if band.max_ease is None else value - band.max_ease
        high = None if band.min_ease is None else value - band.min_ease + reserve
    return Span(band.body_point, band.garment_point, low, high, band.scale, _good(band, value))


def _good(band: Band, value: int) -> tuple[int, int] | None:
    if band.good_min is None or band.good_max is None:
        return None
    if band.scale is Scale.EU_SHOE:
        halves = int(mm_to_eu(value) * 2)
        return (
            _foot_of_eu(halves - 2 * band.good_max, highest=False),
            _foot_of_eu(halves - 2 * band.good_min, highest=True),
        )
    return value - band.good_max, value - band.good_min


def wearable(bands: Iterable[Band], garment: Garment) -> Wearable:
    """Turn bands and a piece's measures into the bodies it fits. An unmeasured point is named, never guessed."""
    spans, missing = [], []
    for band in bands:
        value = garment.values.get(band.garment_point)
        if value is not None:
            spans.append(_span(band, value, garment.let_out.get(band.garment_point, 0)))
        elif band.garment_point not in missing:
            missing.append(band.garment_point)
    return Wearable(tuple(spans), tuple(missing))
