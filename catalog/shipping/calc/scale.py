"""What the scale says against what was computed: is a crate light or heavy, by how much, and which piece would explain
it."""

from collections.abc import Sequence
from dataclasses import dataclass

# Scales, wrapping and straps: a difference up to 300 g or 1 % is nothing to go looking for (house judgement).
SLACK_G, SLACK_PERCENT = 300, 1


@dataclass(frozen=True, slots=True)
class Weighing:
    """The difference in grams (minus: light), whether it matters, and the pieces whose weight would explain it."""

    differs_g: int
    matters: bool
    explains: tuple[str, ...]

    def sentence(self, crate: str) -> str:
        """ "Crate 4 is 2.1 kg light. AB-0412 weighs that: is it in there?" """
        if not self.matters:
            return f"{crate}: weighed and computed agree."
        word = "light" if self.differs_g < 0 else "heavy"
        told = f"{crate} is {abs(self.differs_g) / 1000:.1f} kg {word}."
        if not self.explains:
            return f"{told} No single piece explains it: count what is in it."
        pieces = " or ".join(self.explains)
        asked = "is it in there?" if self.differs_g < 0 else "was it put in here?"
        return f"{told} {pieces} weighs about that: {asked}"


def weighed_against(
    weighed_g: int, computed_g: int, inside: Sequence[tuple[str, int]], elsewhere: Sequence[tuple[str, int]]
) -> Weighing:
    """Compare; a light crate may lack one of `inside`, a heavy one may hold one of `elsewhere` (number, grams)."""
    differs = weighed_g - computed_g
    slack = max(SLACK_G, computed_g * SLACK_PERCENT // 100)
    if abs(differs) <= slack:
        return Weighing(differs, False, ())
    among = inside if differs < 0 else elsewhere
    near = [(abs(grams - abs(differs)), number) for number, grams in among if abs(grams - abs(differs)) <= slack]
    return Weighing(differs, True, tuple(number for _, number in sorted(near)[:3]))
