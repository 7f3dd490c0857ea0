"""The lift mark of a thing from its weight alone. It warns; it allows nothing: local rules decide.

Figures beside the house's own limit: HSE leaflet INDG143 (and guidance L23) gives 25 kg for men and 16 kg for women
lifting close to the body at waist height, 10 kg and 7 kg at head height; the NIOSH lifting equation (Applications
Manual, 94-110) starts from a load constant of 23 kg and only goes down from there.
"""

from dataclasses import dataclass
from typing import Literal

Lift = Literal["one person", "two people", "not known"]

SOURCE = "HSE INDG143: 25 kg (men) and 16 kg (women) at waist height, close to the body; NIOSH 94-110: 23 kg at best."
CAUTION = "From weight alone: grip, shape, height and the person count too. Local rules decide."
HEAD_HEIGHT = (
    "It stands above reach: HSE INDG143 gives 10 kg (men) and 7 kg (women) at head height. Do not do it alone."
)


@dataclass(frozen=True, slots=True)
class LiftMark:
    """How many people a lift asks for, and why."""

    lift: Lift
    sentence: str
    cautions: tuple[str, ...]
    source: str = SOURCE


def lift_mark(known_g: int, unweighed: int, limit_g: int, *, above_reach: bool = False) -> LiftMark:
    """The mark of a load of `known_g` grams with `unweighed` things in it whose weight nobody knows.

    Over the limit is over it whatever else lies in there; under it, one unweighed thing leaves the answer unknown.
    """
    cautions = (CAUTION, HEAD_HEIGHT) if above_reach else (CAUTION,)
    limit = f"{limit_g / 1000:g} kg"
    if known_g > limit_g:
        return LiftMark("two people", f"Two people: over the house limit of {limit} for one.", cautions)
    if unweighed:
        weights = "1 weight is" if unweighed == 1 else f"{unweighed} weights are"
        return LiftMark("not known", f"Weigh it before lifting: {weights} not known, of it or in it.", cautions)
    return LiftMark("one person", f"Within the house limit of {limit} for one person.", cautions)
