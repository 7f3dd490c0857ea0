"""The order in which a person walks past things: site, room, rack, bay, level; numbers in codes count as numbers."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

# A number sorts before a word, and both stay comparable inside one tuple.
NaturalKey = tuple[tuple[int, int, str], ...]
WalkingKey = tuple[tuple[int, NaturalKey], ...]

_RUNS = re.compile(r"\d+|[^\d\W_]+")


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a path: the place's own order among its neighbours, then its code."""

    order: int
    code: str


def natural_key(text: str) -> NaturalKey:
    """Sorts "H2" before "H10" and ignores case and dashes: each run of digits is a number."""
    return tuple(
        (0, int(run), "") if run.isdecimal() else (1, 0, run.casefold()) for run in _RUNS.findall(text.casefold())
    )


def walking_key(path: Iterable[Step]) -> WalkingKey:
    """Sorts paths (outermost step first) in walking order; a place comes before what lies in it."""
    return tuple((step.order, natural_key(step.code)) for step in path)
