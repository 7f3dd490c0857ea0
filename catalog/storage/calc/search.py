"""Searching by chance: what a search that found nothing leaves of each place's chance, and where to look next.

The method is the classical one for a thing that stays where it is: L. D. Stone, Theory of Optimal Search (1975), and
before it B. O. Koopman, Search and Screening (1946). A place that was searched in vain keeps p (1 - d) / (1 - p d),
every other place p / (1 - q d), where q is the chance of the searched place and d the chance of finding the thing in
one such search if it is there. The best next look, at equal effort, is where p d is greatest.
"""

from collections.abc import Iterable, Mapping
from typing import Literal, TypeVar

Key = TypeVar("Key")
Thoroughness = Literal["glance", "looked through", "emptied"]
Access = Literal["open", "closed", "wide"]

# The chance of finding a thing in one search of the place where it is: (a piece, a trunk). Set by the house from
# judgement (common practice, no source): a glance into a closed trunk shows next to nothing, a trunk is hard to miss.
FINDS: Mapping[Access, Mapping[Thoroughness, tuple[float, float]]] = {
    "open": {"glance": (0.40, 0.75), "looked through": (0.80, 0.93), "emptied": (0.96, 0.98)},
    "closed": {"glance": (0.05, 0.50), "looked through": (0.75, 0.90), "emptied": (0.96, 0.98)},
    "wide": {"glance": (0.15, 0.50), "looked through": (0.60, 0.80), "emptied": (0.92, 0.95)},
}
CLOSED_KINDS = frozenset({"trunk", "crate", "box", "cabinet", "freezer"})
WIDE_KINDS = frozenset({"site", "room", "rack", "bay", "away", "dock"})
# A search this thorough opens the boxes that stand in the searched place as well.
OPENS_BOXES: Thoroughness = "emptied"


def access_of(kind: str) -> Access:
    """How a place of this kind lies open to the eye."""
    return "closed" if kind in CLOSED_KINDS else "wide" if kind in WIDE_KINDS else "open"


def finds(kind: str, thoroughness: Thoroughness, *, container: bool) -> float:
    """The chance of finding a piece, or a container, in one such search of the place where it is."""
    piece, box = FINDS[access_of(kind)][thoroughness]
    return box if container else piece


def searched(chances: Mapping[Key, float], key: Key, d: float) -> dict[Key, float]:
    """The chances after one search of `key` that found nothing. Raises ValueError when nothing is left."""
    left = 1 - chances[key] * d
    if left <= 0:
        raise ValueError("It was surely there and would surely have been found: one of the two is wrong.")
    return {one: p * (1 - d if one == key else 1) / left for one, p in chances.items()}


def after(weights: Mapping[Key, float], vain: Iterable[tuple[Key, float]]) -> dict[Key, float]:
    """The chances after all searches that found nothing, in whatever order they were made. They sum to one.

    `weights` need not sum to one. A search of a place that is not among them changes nothing.
    """
    left = dict(weights)
    for key, d in vain:
        if key in left:
            left[key] *= 1 - d
    total = sum(left.values())
    if total <= 0:
        raise ValueError("No place is left where it could be.")
    return {key: weight / total for key, weight in left.items()}
