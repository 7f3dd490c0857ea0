"""What a cell of a table says, by the type its column asks for. Pure: text in, value or a sentence out."""

import re
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any

from catalog.core.units import UnitError, read_length_mm, read_weight_g
from catalog.pieces.calc.kinds import mm_of_eu

YES = frozenset({"1", "yes", "y", "true", "x"})
NO = frozenset({"0", "no", "n", "false"})
_PLAIN = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_SIGNED = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?")
_TEMPERATURE = re.compile(r"([+-]?[0-9]+(?:[.,][0-9]+)?)\s*°?\s*(c|f)?", re.IGNORECASE)
_HOUR = re.compile(r"([0-9]{1,2})(?::00(?::00)?)?")
_EASE = re.compile(r"([+-]?[0-9]+(?:[.,][0-9]+)?)\s*(mm|cm|in)?")
_ISO = re.compile(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})(?:[ T]00:00(?::00)?)?")
_DAY_FIRST = re.compile(r"([0-9]{1,2})\.([0-9]{1,2})\.([0-9]{4})")
# Longer than any name or note of the tables; a cell beyond it is a broken quote, not a fact.
LONGEST = 2000


class CellError(ValueError):
    """The cell cannot be read; the message is the end of a sentence that begins with row and field."""


@dataclass(frozen=True, slots=True)
class Type:
    """How a column is read: `sort` of value, the unit of a bare number, the words it may be (empty: any).

    `most` is the longest text; `low` and `high` bound a whole number.
    """

    sort: str = "text"
    unit: str = ""
    words: tuple[str, ...] = ()
    most: int = LONGEST
    low: int = 0
    high: int = 1_000_000


def read(text: str, kind: Type, *, shift_days: int = 0) -> Any:
    """The value of a filled cell. Dates are moved by `shift_days`. Raises CellError with a sentence's end.

    text → str · word → str, one of `words` · whole → int · number → Decimal · yes_no → bool · date → date ·
    list → tuple of str · hour → int, the hour of the day · temperature → int tenths of °C · length → int mm ·
    weight → int g · ease → signed int mm · days → "all", "first day" or
    a tuple of dates.
    """
    if len(text) > LONGEST:
        raise CellError(f"holds {len(text)} characters; a cell holds at most {LONGEST}. Is a quote mark missing?")
    return _READERS[kind.sort](text, kind, shift_days)


def is_formula(text: str) -> bool:
    """Whether the cell is a formula: what it shows is worked out elsewhere and cannot be read here."""
    return text.startswith("=")


def _text(text: str, kind: Type, shift: int) -> str:
    if len(text) > kind.most:
        raise CellError(f"“{text[:30]}…” has {len(text)} characters; {kind.most} fit.")
    return text


def _word(text: str, kind: Type, shift: int) -> str:
    for word in kind.words:
        if text.lower() == word.lower():
            return word
    raise CellError(f"“{text[:40]}” is not known; write one of: {', '.join(kind.words)}.")


def _whole(text: str, kind: Type, shift: int) -> int:
    value = _decimal(text, _SIGNED)
    if value != value.to_integral_value():
        raise CellError(f"“{text[:40]}” is not a whole number.")
    if not kind.low <= value <= kind.high:
        raise CellError(f"{value:f} cannot be right; it lies between {kind.low} and {kind.high}.")
    return int(value)


def _number(text: str, kind: Type, shift: int) -> Decimal:
    value = _decimal(text, _PLAIN)
    if value > kind.high:
        raise CellError(f"{value:f} cannot be right; it is at most {kind.high}.")
    return value


def _decimal(text: str, pattern: re.Pattern[str]) -> Decimal:
    if not pattern.fullmatch(text):
        raise CellError(f"“{text[:40]}” is not a number.")
    try:
        return Decimal(text.replace(",", "."))
    except InvalidOperation as wrong:
        raise CellError(f"“{text[:40]}” is not a number.") from wrong


def _yes_no(text: str, kind: Type, shift: int) -> bool:
    if text.lower() in YES:
        return True
    if text.lower() in NO:
        return False
    raise CellError(f"“{text[:40]}” is neither yes nor no.")


def _date(text: str, kind: Type, shift: int) -> date:
    if iso := _ISO.fullmatch(text):
        parts = (int(iso[1]), int(iso[2]), int(iso[3]))
    elif written := _DAY_FIRST.fullmatch(text):
        parts = (int(written[3]), int(written[2]), int(written[1]))
    else:
        raise CellError(f"“{text[:40]}” is not a date; write it as 2026-09-08.")
    try:
        return date(*parts) + timedelta(days=shift)
    except (ValueError, OverflowError) as wrong:
        raise CellError(f"“{text[:40]}” is no day of the calendar.") from wrong


def _list(text: str, kind: Type, shift: int) -> tuple[str, ...]:
    return tuple(dict.fromkeys(part.strip() for part in text.split("|") if part.strip()))


def _length(text: str, kind: Type, shift: int) -> int:
    try:
        if kind.unit == "eu":
            return mm_of_eu(float(_decimal(text, _PLAIN)))
        if kind.unit in {"mm", "cm", "in"}:
            return read_length_mm(text, kind.unit)  # type: ignore[arg-type]
        return read_length_mm(f"{_decimal(text, _PLAIN):f} {kind.unit}", "mm")
    except UnitError as wrong:
        raise CellError(str(wrong)) from wrong


def _weight(text: str, kind: Type, shift: int) -> int:
    try:
        return read_weight_g(text, kind.unit)  # type: ignore[arg-type]
    except UnitError as wrong:
        raise CellError(str(wrong)) from wrong


def _ease(text: str, kind: Type, shift: int) -> int:
    """A difference of two lengths in mm: it may lie below nothing."""
    match = _EASE.fullmatch(text)
    if match is None:
        raise CellError(f"“{text[:40]}” is no length, for example -1.5 or 0.3 in.")
    factor = {"mm": Decimal(1), "cm": Decimal(10), "in": Decimal("25.4")}[match[2] or kind.unit]
    return int(((Decimal(match[1].replace(",", ".")) * factor) * 2 + 1).to_integral_value(ROUND_FLOOR)) // 2


def _hour(text: str, kind: Type, shift: int) -> int:
    match = _HOUR.fullmatch(text)
    if match is None or int(match[1]) > 23:
        raise CellError(f"“{text[:40]}” is no whole hour of the day; write it as 06:00 or 6.")
    return int(match[1])


def _temperature(text: str, kind: Type, shift: int) -> int:
    """Tenths of a degree Celsius, halves away from zero; a bare number is in the column's unit."""
    match = _TEMPERATURE.fullmatch(text.replace("\u2212", "-"))
    if match is None:
        raise CellError(f"“{text[:40]}” is no temperature, for example 28.5.")
    value = Decimal(match[1].replace(",", "."))
    if (match[2] or kind.unit).lower() == "f":
        value = (value - 32) * 5 / 9
    if not -50 <= value <= 60:
        raise CellError(f"{text[:40]} cannot be right; an air temperature lies between −50 and 60 °C.")
    return int((value * 10).to_integral_value(ROUND_HALF_UP))


def _days(text: str, kind: Type, shift: int) -> str | tuple[date, ...]:
    if text.lower() in {"all", "first day"}:
        return text.lower()
    return tuple(_date(part, kind, shift) for part in _list(text, kind, shift))


_READERS = {
    "text": _text,
    "word": _word,
    "whole": _whole,
    "number": _number,
    "yes_no": _yes_no,
    "date": _date,
    "list": _list,
    "length": _length,
    "weight": _weight,
    "ease": _ease,
    "hour": _hour,
    "temperature": _temperature,
    "days": _days,
}
UNITS = {
    "length": ("mm", "cm", "m", "in", "eu"),
    "weight": ("g", "kg", "lb"),
    "ease": ("mm", "cm", "in"),
    "temperature": ("c", "f"),
}
