"""What a tape or a scale can read on a grown or growing person; outside it a number was mistyped.

Wide on purpose (common practice, no source): they catch a slipped digit, and judge nobody.
"""

from collections.abc import Mapping

# mm, and g for the weight.
BOUNDS: Mapping[str, tuple[int, int]] = {
    "height": (500, 2600),
    "weight": (10_000, 350_000),
    "chest": (400, 2200),
    "waist_natural": (350, 2200),
    "waist_navel": (350, 2300),
    "hip": (400, 2400),
    "neck": (180, 800),
    "sleeve_cb": (300, 1200),
    "inside_leg": (200, 1200),
    "head": (380, 750),
    "head_over_hair": (380, 1200),
    "hand_girth": (90, 350),
    "foot_length": (90, 400),
}
OTHER = (50, 2600)
# Weight over height squared, kg/m2, that no walking body has: a swapped unit. House judgement, no source.
TOGETHER = (8.0, 130.0)


def bounds_of(point: str) -> tuple[int, int]:
    """The least and the most of a body point, mm or g."""
    return BOUNDS.get(point, OTHER)


def impossible(point: str, value: int, words: str) -> str | None:
    """A sentence when the value cannot be true for the body point, else None. The sentence repeats no size."""
    low, high = bounds_of(point)
    if low <= value <= high:
        return None
    unit, per = ("kg", 1000) if point == "weight" else ("cm", 10)
    return f"{words.capitalize()} lies between {low / per:g} and {high / per:g} {unit}: look at the number again."


def impossible_together(height_mm: int | None, weight_g: int | None) -> str | None:
    """A sentence when no body has both, else None: each may be possible alone. The sentence repeats no size."""
    if height_mm is None or weight_g is None:
        return None
    low, high = TOGETHER
    if low <= weight_g / 1000 / (height_mm / 1000) ** 2 <= high:
        return None
    return "Nobody has this height and this weight: look at both numbers, and at the units they are typed in."
