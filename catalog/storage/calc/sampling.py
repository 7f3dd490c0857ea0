"""Which pieces a random sample takes, and what it buys: exact, for pieces drawn once each from a known number.

With `missing` of `drawn` not found, the most that can be missing of all is the largest number that would still show so
few with a chance above one less the confidence (the upper limit of the hypergeometric count, one-sided).
"""

import hashlib
from collections.abc import Iterable
from math import comb

CONFIDENCE = 0.95


def chance_of_so_few(missing: int, drawn: int, of: int, gone: int) -> float:
    """The chance that a draw of so many shows at most `missing` gone ones if `gone` of all are gone."""
    ways = sum(comb(gone, seen) * comb(of - gone, drawn - seen) for seen in range(min(missing, gone, drawn) + 1))
    return ways / comb(of, drawn)


def most_missing(missing: int, drawn: int, of: int, confidence: float = CONFIDENCE) -> int:
    """How many of all can be missing at most. Raises ValueError for counts that cannot be."""
    if not 0 <= missing <= drawn <= of:
        raise ValueError(f"{missing} missing of {drawn} drawn of {of} cannot be.")
    low, high = missing, of - (drawn - missing)
    while low < high:
        middle = (low + high + 1) // 2
        if chance_of_so_few(missing, drawn, of, middle) > 1 - confidence:
            low = middle
        else:
            high = middle - 1
    return low


def share_of_any(drawn: int, confidence: float = CONFIDENCE) -> float:
    """The limit as a share, none missing, of a store without end: where (1 - p) ** n is one less the confidence."""
    return 1.0 if drawn == 0 else 1 - (1 - confidence) ** (1 / drawn)


def least_sample(share: float, of: int | None = None, confidence: float = CONFIDENCE) -> int:
    """The smallest draw that, with none missing, says that less than this share is missing; of any number, if None.

    Asked as tables ask it: if just this share were gone, the chance to see none of it is at most one less the
    confidence.
    """
    if not 0 < share < 1:
        raise ValueError("A share lies between nothing and all.")
    if of is None:
        drawn = 1
        while (1 - share) ** drawn > 1 - confidence:
            drawn += 1
        return drawn
    gone = max(1, round(share * of))
    drawn = 0
    while drawn < of and chance_of_so_few(0, drawn, of, gone) > 1 - confidence:
        drawn += 1
    return drawn


def draw(numbers: Iterable[str], size: int, seed: str) -> list[str]:
    """A random sample that anybody can draw again from its seed, in the order drawn.

    The numbers whose SHA-256 of "seed number" is smallest: no program's own generator is needed to repeat it.
    """
    return sorted(set(numbers), key=lambda number: (_lot(seed, number), number))[:size]


def _lot(seed: str, number: str) -> str:
    return hashlib.sha256(f"{seed} {number}".encode()).hexdigest()


def bought(missing: int, drawn: int, of: int) -> str:
    """What the draw says, in words: "at most 4 of 40 (10 %) are missing, at 95 % confidence"."""
    if of == 0:
        return "there was nothing to draw from"
    if drawn == of:
        return f"all {of} were drawn, so that is all"
    limit = most_missing(missing, drawn, of)
    percent = -(-100 * limit // of)
    return f"at most {limit} of the {of} ({percent} %) are missing, at {CONFIDENCE:.0%} confidence".replace(
        "95%", "95 %"
    )
