"""What a tape or a scale can read on a grown or growing person; outside it a number was mistyped.

Wide on purpose (common practice, no source): they catch a slipped digit, and judge nobody.
"""

from collections.abc import Mapping

# mm, and g for the weight.
BOUNDS: Mapping[str, tuple[int, int]] = {
    "height": (500, 2600),
    "weight": (5_000, 350_000),
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


def impossible(point: str, value: int, words: str) -> str | None:
    """A sentence when the value cannot be true for the body point, else None. The sentence repeats no size."""
    low, high = BOUNDS.get(point, OTHER)
    if low <= value <= high:
        return None
    unit, per = ("kg", 1000) if point == "weight" else ("cm", 10)
    return f"{words.capitalize()} lies between {low / per:g} and {high / per:g} {unit}: look at the number again."
