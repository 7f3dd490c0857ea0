"""Reading and showing lengths and weights. Stored are whole millimetres and whole grams.

Typed values may be "176", "176 cm", "5 ft 9", "5'9½\\"", "69 in", "12st 3", "81 kg"; a bare number is read in the
unit that the form names. Exact factors: 1 inch = 25.4 mm, 1 pound = 453.59237 g (international yard and pound
agreement, 1959).
"""

import re
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from fractions import Fraction
from typing import Literal

LengthUnit = Literal["mm", "cm", "in"]
WeightUnit = Literal["g", "kg", "lb"]

MM_PER: dict[str, Fraction] = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": Fraction(254, 10)}
G_PER: dict[str, Fraction] = {
    "g": Fraction(1),
    "kg": Fraction(1000),
    "lb": Fraction(45_359_237, 100_000),
    "st": Fraction(14 * 45_359_237, 100_000),
}
_VULGAR = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_NUMBER = r"\d+(?:[.,]\d+)?(?:\s+\d+/\d+)?|\d+/\d+"
# What a column holds; anything near it was mistyped.
MOST = 1_000_000_000
_FEET = re.compile(rf"^({_NUMBER})\s*(?:ft|feet|foot|')\s*(?:({_NUMBER})\s*(?:in|ins|inch|inches|\"|'')?)?$")
_STONE = re.compile(rf"^({_NUMBER})\s*st(?:ones?)?\s*(?:({_NUMBER})\s*(?:lbs?|pounds?)?)?$")
_PLAIN = re.compile(rf"^({_NUMBER})\s*([a-z\"]*)$")
# Grams and millimetres are whole: a comma before three digits parts thousands there, and is never a decimal comma.
_THOUSANDS = re.compile(r"^\d{1,3}(?:,\d{3})+$")
_LENGTH_WORDS = {word: unit for unit, words in {
    "mm": "mm millimetre millimetres millimeter millimeters", "cm": "cm centimetre centimetres centimeter centimeters",
    "m": "m metre metres meter meters", "in": "in ins inch inches \"",
}.items() for word in words.split()}  # fmt: skip
_WEIGHT_WORDS = {word: unit for unit, words in {
    "g": "g gram grams", "kg": "kg kgs kilo kilos kilogram kilograms", "lb": "lb lbs pound pounds", "st": "st",
}.items() for word in words.split()}  # fmt: skip
_UNIT_WORDS = {"in": "inches", "lb": "pounds", "st": "stone"}


class UnitError(ValueError):
    """The text is no length or weight; the message is a sentence for the user."""


def read_length_mm(text: str, unit: LengthUnit = "cm") -> int:
    """Whole millimetres of a typed length; a bare number is in `unit`. Raises UnitError."""
    clean = _clean(text)
    if feet := _FEET.match(clean):
        inches = _with_rest(text, feet, 12, "inches", "a foot")
        return _whole(inches * MM_PER["in"])
    return _whole(_plain(clean, text, unit, _LENGTH_WORDS, MM_PER, "length, for example 96.5 or 38 in"))


def read_weight_g(text: str, unit: WeightUnit = "kg") -> int:
    """Whole grams of a typed weight; a bare number is in `unit`. Raises UnitError."""
    clean = _clean(text)
    if stone := _STONE.match(clean):
        pounds = _with_rest(text, stone, 14, "pounds", "a stone")
        return _whole(pounds * G_PER["lb"])
    return _whole(_plain(clean, text, unit, _WEIGHT_WORDS, G_PER, "weight, for example 81 or 12st 3"))


def show_length(mm: int, unit: LengthUnit = "cm") -> str:
    """A length in the reader's unit with its name: "96.5 cm", "38 in" (as few places as read back to the same mm)."""
    if unit == "mm":
        return f"{mm} mm"
    return f"{bare_length(mm, unit)} {unit}"


def bare_length(mm: int, unit: LengthUnit = "cm") -> str:
    """The number alone, as it stands in an input; reading it back gives the same millimetres."""
    if unit == "in":
        return _shortest(Fraction(mm) / MM_PER["in"], 2, lambda text: read_length_mm(text, "in") == mm)
    return str((Decimal(mm) / int(MM_PER[unit])).quantize(Decimal("0.1" if unit == "cm" else "1")))


def bare_weight(g: int, unit: WeightUnit = "kg") -> str:
    """The number alone, as it stands in an input; reading it back gives the same grams."""
    return _shortest(Fraction(g) / G_PER[unit], 3, lambda text: read_weight_g(text, unit) == g)


def _shortest(value: Fraction, places: int, reads_back: Callable[[str], bool]) -> str:
    """The value with as few decimal places as keep it: what was typed as 38 is shown as 38."""
    exact = Decimal(value.numerator) / Decimal(value.denominator)
    told = [str(exact.quantize(Decimal(1).scaleb(-n), rounding=ROUND_HALF_UP)) for n in range(places + 1)]
    return next((text for text in told if reads_back(text)), told[-1])


def wrong_length(typed: str, unit: LengthUnit, low_mm: int, high_mm: int) -> str | None:
    """A sentence when a typed length is impossible: what it would mean, what is possible, which unit may be meant.

    None when it lies within the bounds. Raises UnitError when it is no length at all.
    """
    mm = read_length_mm(typed, unit)
    if low_mm <= mm <= high_mm:
        return None
    others = [other for other in ("cm", "in", "mm", "m") if low_mm <= _as_if(typed, other, MM_PER) <= high_mm]
    return _refusal(
        typed,
        unit,
        means=show_length(mm, "cm"),
        possible=tuple(Fraction(end) / MM_PER[unit] for end in (low_mm, high_mm)),
        others=others,
    )


def wrong_weight(typed: str, unit: WeightUnit, low_g: int, high_g: int) -> str | None:
    """The same for a weight."""
    g = read_weight_g(typed, unit)
    if low_g <= g <= high_g:
        return None
    others = [other for other in ("kg", "lb", "st") if low_g <= _as_if(typed, other, G_PER) <= high_g]
    return _refusal(
        typed,
        unit,
        means=show_weight(g, "kg"),
        possible=tuple(Fraction(end) / G_PER[unit] for end in (low_g, high_g)),
        others=others,
    )


def _refusal(typed: str, unit: str, *, means: str, possible: tuple[Fraction, ...], others: list[str]) -> str:
    shown = " ".join(typed.split())[:40]
    bare = _PLAIN.match(_clean(typed))
    is_bare = bare is not None and not bare[2]
    low, high = (f"{round(float(end), 1):g}" for end in possible)
    if is_bare and means.endswith(f" {unit}"):  # nothing to turn into another unit
        sentence = f"“{shown}” {unit} cannot be; it lies between {low} and {high} {unit}."
    else:
        read = f" in {_UNIT_WORDS.get(unit, unit)}" if is_bare else ""
        sentence = f"“{shown}”{read} would be {means}; it lies between {low} and {high} {unit}."
    if others and bare is not None:
        meant = " or ".join(f"{bare[1]} {other}" for other in others)
        sentence += f" If you mean {meant}, type it with its unit."
    return sentence


def _as_if(typed: str, unit: str, factors: dict[str, Fraction]) -> Fraction:
    """The typed number in another unit than it was read in; below every bound when it is more than a number."""
    bare = _PLAIN.match(_clean(typed))
    return _number(bare[1]) * factors[unit] if bare is not None else Fraction(-1)


def show_weight(g: int, unit: WeightUnit = "kg") -> str:
    """A weight in the reader's unit with its name: "12.0 kg", "26.5 lb"."""
    if unit == "g":
        return f"{g} g"
    value = Decimal(g) / (Decimal(1000) if unit == "kg" else Decimal("453.59237"))
    # Light things would read "0.0 kg" at one place.
    places = "0.01" if value < 1 else "0.1"
    return f"{value.quantize(Decimal(places), rounding=ROUND_HALF_UP)} {unit}"


def _clean(text: str) -> str:
    clean = text.strip().lower().replace("’", "'").replace("″", '"').replace("′", "'").replace("”", '"')
    for sign, fraction in _VULGAR.items():
        clean = clean.replace(sign, f" {fraction}")
    return " ".join(clean.split())


def _with_rest(text: str, match: re.Match[str], per: int, small: str, large: str) -> Fraction:
    """Feet and inches, stone and pounds, in the smaller; the rest must be less than one of the larger."""
    rest = _number(match[2]) if match[2] else Fraction(0)
    if rest >= per:
        raise UnitError(f"“{text.strip()[:40]}”: {per} {small} are {large}, so the {small} stay below {per}.")
    return _number(match[1]) * per + rest


def _plain(
    clean: str, text: str, unit: str, words: dict[str, str], factors: dict[str, Fraction], kind: str
) -> Fraction:
    match = _PLAIN.match(clean)
    if match is None or (match[2] and match[2] not in words):
        raise UnitError(f"“{text.strip()[:40]}” is no {kind}.")
    meant = words[match[2]] if match[2] else unit
    number = match[1].replace(",", "") if meant in ("mm", "g") and _THOUSANDS.match(match[1]) else match[1]
    return _number(number) * factors[meant]


def _number(text: str) -> Fraction:
    total = Fraction(0)
    for part in text.replace(",", ".").split():
        try:
            total += Fraction(part) if "/" in part else Fraction(Decimal(part))
        except (InvalidOperation, ZeroDivisionError, ValueError) as wrong:
            raise UnitError(f"“{text[:40]}” is no number.") from wrong
    return total


def _whole(value: Fraction) -> int:
    """Rounded half up; Python's own round would send half to even and surprise a tape reader."""
    whole = int((value * 2 + 1) // 2)
    if whole > MOST:
        raise UnitError("That is more than can be kept: look at the number again.")
    return whole
