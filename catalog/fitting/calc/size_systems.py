"""Shoe, glove, hat and chest sizes: what a body measure is called in each system, with the system and its source.

A label is a shortlist, not a fit: makers, lasts and linings differ. Feet are adult ones, standing, weight on both.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise
from math import floor, pi

from catalog.fitting.calc.bands import body_eu

MM_PER_INCH = Fraction(254, 10)


class SizeError(ValueError):
    """No size of the system is meant for this measure; the message is a sentence for the user."""


class Shoe(StrEnum):
    MONDOPOINT = "Mondopoint"
    EU = "EU"
    UK = "UK"
    US_MEN = "US men"
    US_WOMEN = "US women"


@dataclass(frozen=True, slots=True)
class Label:
    """A size as it is marked: "EU" and "43". `from_memory`: the figure has not been checked against its source."""

    system: str
    size: str
    source: str
    from_memory: bool = False

    def __str__(self) -> str:
        return f"{self.system} {self.size}"


# Foot lengths of adults in mm; children's sizes start again from other numbers.
FEET = (210, 330)
HEADS = (480, 680)
HANDS = (140, 330)

# Barleycorn systems: size = 3 x foot length in inches - this. Men's US size 1 is 7 2/3 in and a size is a third of an
# inch; UK is one less; for women's US the source is one maker's table, so it counts as from memory.
BARLEYCORN: dict[Shoe, int] = {Shoe.UK: 23, Shoe.US_MEN: 22, Shoe.US_WOMEN: 21}
SHOE_SOURCES: dict[Shoe, tuple[str, bool]] = {
    Shoe.MONDOPOINT: ("ISO 9407: foot length in mm; steps of 5 mm as ISO/TS 19407:2015 quotes DIN 66074-2", False),
    Shoe.EU: ("two thirds of a cm a size, ISO/TS 19407:2015; 15 mm of toe room: common practice", True),
    Shoe.UK: ("a third of an inch a size, one size below US men: secondary source", True),
    Shoe.US_MEN: ("a third of an inch a size, size 1 at 7 2/3 in of foot: a foot clinic's table", False),
    Shoe.US_WOMEN: ("one size above US men: one table", True),
}


def _half_up(value: Fraction, step: Fraction) -> Fraction:
    return floor(value / step + Fraction(1, 2)) * step


def _within(value_mm: int, bounds: tuple[int, int], what: str) -> None:
    low, high = bounds
    if not low <= value_mm <= high:
        raise SizeError(f"{what} from {low / 10:g} to {high / 10:g} cm have sizes here.")


def shoe_sizes(foot_mm: int) -> tuple[Label, ...]:
    """What an adult foot of this length is called, system by system. Raises SizeError for a child's or no foot."""
    _within(foot_mm, FEET, "Adult feet")
    return tuple(Label(system, mixed(shoe_size(system, foot_mm)), *SHOE_SOURCES[system]) for system in Shoe)


def shoe_size(system: Shoe, foot_mm: int) -> Fraction:
    """The size of one system: EU whole, UK and US to the half, Mondopoint in steps of 5 mm."""
    if system is Shoe.EU:
        return Fraction(body_eu(foot_mm))
    if system is Shoe.MONDOPOINT:
        return _half_up(Fraction(foot_mm), Fraction(5))
    return _half_up(3 * Fraction(foot_mm) / MM_PER_INCH - BARLEYCORN[system], Fraction(1, 2))


def foot_mm(system: Shoe, size: Fraction | int) -> int:
    """The foot length, whole mm, in the middle of a size as somebody states it. Raises SizeError for no adult size."""
    if system is Shoe.EU:
        length = Fraction(size) * 20 / 3 - 15
    elif system is Shoe.MONDOPOINT:
        length = Fraction(size)
    else:
        length = (Fraction(size) + BARLEYCORN[system]) / 3 * MM_PER_INCH
    found = int(_half_up(length, Fraction(1)))
    if not FEET[0] <= found <= FEET[1]:
        raise SizeError(f"{system} {mixed(Fraction(size))} is no adult size.")
    return found


# EN 420:2003 (now EN ISO 21420): size, girth of the hand and length of the hand in mm, as two makers quote it.
GLOVES: tuple[tuple[int, int, int], ...] = (
    (6, 152, 160),
    (7, 178, 171),
    (8, 203, 182),
    (9, 229, 192),
    (10, 254, 204),
    (11, 279, 215),
)
GLOVE_SOURCE = "EN 420:2003, hand girth and length, as glove makers quote it"


def glove_sizes(girth_mm: int, length_mm: int | None = None) -> tuple[Label, ...]:
    """The size by girth, and by length when it is known; where they differ both are told, and the hand decides.

    Raises SizeError for a hand outside the table: half a size beyond its ends is still counted as the end.
    """
    _within(girth_mm, HANDS, "Hands")
    found = [Label("EN 420, by hand girth", _glove(girth_mm, 1, "round"), GLOVE_SOURCE)]
    if length_mm is not None:
        found.append(Label("EN 420, by hand length", _glove(length_mm, 2, "long"), GLOVE_SOURCE))
    return tuple(found)


def _glove(value_mm: int, column: int, how: str) -> str:
    """The nearest size of the table, the larger of two equally near."""
    first, second, last = GLOVES[0][column], GLOVES[1][column], GLOVES[-1][column]
    slack = (second - first) // 2
    if not first - slack <= value_mm <= last + slack:
        raise SizeError(f"The table holds hands from {first / 10:g} to {last / 10:g} cm {how}.")
    nearest = min(GLOVES, key=lambda row: (abs(row[column] - value_mm), -row[0]))
    return str(nearest[0])


def hat_sizes(head_mm: int) -> tuple[Label, ...]:
    """EU in cm; US: the inches of the girth by pi, to an eighth; UK: an eighth less. Raises SizeError."""
    _within(head_mm, HEADS, "Heads")
    us = _half_up(Fraction(head_mm) / MM_PER_INCH / Fraction(pi), Fraction(1, 8))
    return (
        Label("EU", mixed(_half_up(Fraction(head_mm, 10), Fraction(1))), "girth of the head in cm: hatters' tables"),
        Label("US", mixed(us), "girth in inches by pi, to an eighth: hatters' tables"),
        Label("UK", mixed(us - Fraction(1, 8)), "an eighth below US: hatters' tables"),
    )


# EN 13402-3, girths in cm. Women's bust: limits as the documentation of the R package Anthropometry cites the standard.
# Men's chest letters: a secondary quotation of the standard.
BUST_LIMITS = (*range(74, 103, 4), *range(107, 132, 6))
CHEST_LETTERS: tuple[tuple[str, int, int], ...] = (
    ("S", 86, 94), ("M", 94, 102), ("L", 102, 110), ("XL", 110, 118), ("XXL", 118, 129),
)  # fmt: skip


def bust_size(bust_mm: int) -> Label:
    """The range of bust girths, cm, in which the standard puts a woman's garment. Raises SizeError outside it."""
    for low, high in pairwise(BUST_LIMITS):
        if low * 10 <= bust_mm < high * 10:
            return Label(
                "EN 13402-3, bust", f"{low}–{high} cm", "limits of EN 13402-3 as a statistics package cites it"
            )
    raise SizeError(f"The standard's busts go from {BUST_LIMITS[0]} to {BUST_LIMITS[-1]} cm.")


def chest_letter(chest_mm: int) -> Label:
    """The letter for a man's chest girth. Raises SizeError outside the letters."""
    for letter, low, high in CHEST_LETTERS:
        if low * 10 <= chest_mm < high * 10:
            return Label("EN 13402-3, chest", letter, "secondary quotation of EN 13402-3", True)
    raise SizeError(f"The letters go from {CHEST_LETTERS[0][1]} to {CHEST_LETTERS[-1][2]} cm of chest.")


_BY_POINT: dict[str, Callable[[int], tuple[Label, ...]]] = {
    "foot_length": shoe_sizes,
    "hand_girth": glove_sizes,
    "head": hat_sizes,
}


def labels_of(point: str, value_mm: int) -> tuple[Label, ...]:
    """What a body point is called in the systems; none for a point without any, or a value outside them."""
    try:
        return _BY_POINT[point](value_mm) if point in _BY_POINT else ()
    except SizeError:
        return ()


_VULGAR = {Fraction(n, 8): sign for n, sign in enumerate(" ⅛¼⅜½⅝¾⅞") if n}


def mixed(size: Fraction) -> str:
    """A size as it is marked: "42", "8½", "7⅛"."""
    whole, rest = divmod(size, 1)
    if rest and rest not in _VULGAR:
        return f"{float(size):g}"
    return f"{int(whole) or ''}{_VULGAR[rest]}" if rest else str(int(whole))
