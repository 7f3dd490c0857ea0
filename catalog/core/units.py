"""Reading and showing lengths and weights. Stored are whole millimetres and whole grams.

Typed values may be "176", "176 cm", "5 ft 9", "5'9½\\"", "69 in", "12st 3", "81 kg"; a bare number is read in the
unit that the form names. Exact factors: 1 inch = 25.4 mm, 1 pound = 453.59237 g (international yard and pound
agreement, 1959).
"""

import re
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
_FEET = re.compile(rf"^({_NUMBER})\s*(?:ft|feet|foot|')\s*(?:({_NUMBER})\s*(?:in|inch|inches|\"|'')?)?$")
_STONE = re.compile(rf"^({_NUMBER})\s*st(?:one)?\s*(?:({_NUMBER})\s*(?:lb|lbs)?)?$")
_PLAIN = re.compile(rf"^({_NUMBER})\s*([a-z\"]*)$")
_LENGTH_WORDS = {"mm": "mm", "cm": "cm", "m": "m", "in": "in", "inch": "in", "inches": "in", '"': "in"}
_WEIGHT_WORDS = {"g": "g", "kg": "kg", "lb": "lb", "lbs": "lb", "st": "st"}


class UnitError(ValueError):
    """The text is no length or weight; the message is a sentence for the user."""


def read_length_mm(text: str, unit: LengthUnit = "cm") -> int:
    """Whole millimetres of a typed length; a bare number is in `unit`. Raises UnitError."""
    clean = _clean(text)
    if feet := _FEET.match(clean):
        inches = _number(feet[1]) * 12 + (_number(feet[2]) if feet[2] else 0)
        return _whole(inches * MM_PER["in"])
    return _whole(_plain(clean, text, unit, _LENGTH_WORDS, MM_PER, "length, for example 96.5 or 38 in"))


def read_weight_g(text: str, unit: WeightUnit = "kg") -> int:
    """Whole grams of a typed weight; a bare number is in `unit`. Raises UnitError."""
    clean = _clean(text)
    if stone := _STONE.match(clean):
        pounds = _number(stone[1]) * 14 + (_number(stone[2]) if stone[2] else 0)
        return _whole(pounds * G_PER["lb"])
    return _whole(_plain(clean, text, unit, _WEIGHT_WORDS, G_PER, "weight, for example 81 or 12st 3"))


def show_length(mm: int, unit: LengthUnit = "cm") -> str:
    """A length in the reader's unit with its name: "96.5 cm", "38.00 in" (two places: editing does not drift)."""
    if unit == "mm":
        return f"{mm} mm"
    return f"{bare_length(mm, unit)} {unit}"


def bare_length(mm: int, unit: LengthUnit = "cm") -> str:
    """The number alone, as it stands in an input; reading it back gives the same millimetres."""
    places = {"mm": "1", "cm": "0.1", "in": "0.01"}[unit]
    value = Decimal(mm) / (Decimal("25.4") if unit == "in" else Decimal(int(MM_PER[unit])))
    return str(value.quantize(Decimal(places), rounding=ROUND_HALF_UP))


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


def _plain(
    clean: str, text: str, unit: str, words: dict[str, str], factors: dict[str, Fraction], kind: str
) -> Fraction:
    match = _PLAIN.match(clean)
    if match is None or (match[2] and match[2] not in words):
        raise UnitError(f"“{text.strip()[:40]}” is no {kind}.")
    return _number(match[1]) * factors[words[match[2]] if match[2] else unit]


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
    return int((value * 2 + 1) // 2)
