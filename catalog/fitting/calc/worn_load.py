"""What a planned dress weighs as worn, beside the wearer's own weight. No limit is set: a competent person decides."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WornLoad:
    """A dress on one wearer. `known_g` is what is weighed; `not_weighed` codes make it a lower bound.

    share: the load over the wearer's own weight; None when the wearer's weight is not known.
    heaviest: codes of what was weighed, the heaviest first.
    """

    known_g: int
    not_weighed: tuple[str, ...]
    share: float | None
    heaviest: tuple[str, ...]

    @property
    def complete(self) -> bool:
        """Whether every piece was weighed."""
        return not self.not_weighed


def worn_load(pieces: Iterable[tuple[str, int | None]], own_g: int | None) -> WornLoad:
    """Add up a dress: (code, weight in g or None when it was not weighed). `own_g` is the wearer's weight, in g."""
    listed = list(pieces)
    weighed = [(code, weight) for code, weight in listed if weight is not None]
    known = sum(weight for _, weight in weighed)
    return WornLoad(
        known_g=known,
        not_weighed=tuple(code for code, weight in listed if weight is None),
        share=known / own_g if own_g else None,
        heaviest=tuple(code for code, _ in sorted(weighed, key=lambda pair: (-pair[1], pair[0]))),
    )
