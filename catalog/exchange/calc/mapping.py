"""How a stranger's table becomes one of ours: a mapping says where each of our columns comes from.

A mapping is JSON:

    {"columns": {"number": "Inventory no",                                      the file's column, cell as it stands
                 "weight": {"column": "wt", "unit": "kg"},                      unit of a bare number
                 "state":  {"column": "status", "values": {"on loan": "out"}},  words translated; others stay
                 "home":   {"column": "loc", "values": {"": "", "?": ""}, "others": "same"},
                 "kind":   [{"columns": ["role", "slot"], "join": " ", "values": {...}, "others": ""},
                            {"column": "slot", "values": {...}}],               the first source that says something
                 "parent": {"column": "shelf", "before_last": "-"},             H1-2 gives H1
                 "currency": {"value": "EUR"},                                  the same in every row
                 "hazards": {"column": "risks", "split": ";", "values": {...}}, a list: values item by item
                 "note":   {"column": "remarks", "when": {"column": "slot", "in": ["hat"]}}},
     "ignore": ["shelf mark"],                                                  columns left out on purpose
     "skip": [{"column": "loc", "in": ["?"]}]}                                  rows left out on purpose

Columns that carry our own names need no line; one that is renamed is read under its new name only. What is neither
mapped nor ignored is reported, never dropped silently.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from catalog.exchange.calc.cells import UNITS
from catalog.exchange.calc.columns import Table

SOURCE_KEYS = frozenset(
    {"column", "columns", "join", "value", "values", "others", "split", "unit", "before_last", "when"}
)


class MappingError(ValueError):
    """The mapping cannot be used; the message is a sentence for its author."""


@dataclass(frozen=True, slots=True)
class Condition:
    """Rows whose cell in `column` is one of `words`."""

    column: str
    words: frozenset[str]

    def holds(self, cells: Mapping[str, str]) -> bool:
        return cells.get(self.column, "") in self.words


@dataclass(frozen=True, slots=True)
class Source:
    """Where one of our columns comes from."""

    columns: tuple[str, ...] = ()
    join: str = " "
    value: str | None = None
    values: Mapping[str, str] = field(default_factory=dict)
    others: str | None = None
    split: str = ""
    unit: str = ""
    before_last: str = ""
    when: Condition | None = None

    @property
    def renames(self) -> bool:
        """Whether a column of the file is taken over as it stands, under our name."""
        return len(self.columns) == 1 and not (self.values or self.split or self.before_last or self.when)

    def text(self, cells: Mapping[str, str]) -> str:
        """The cell's text after the mapping; "" when this source says nothing."""
        if self.when is not None and not self.when.holds(cells):
            return ""
        if self.value is not None:
            return self.value
        raw = self.join.join(cells.get(column, "") for column in self.columns)
        if self.split:
            translated = (self._word(item.strip()) for item in raw.split(self.split))
            return "|".join(item for item in translated if item)
        return self._word(raw)

    def _word(self, raw: str) -> str:
        if self.before_last:
            raw = raw.rpartition(self.before_last)[0]
        if raw in self.values:
            return self.values[raw]
        return raw if self.others is None else self.others


@dataclass(frozen=True, slots=True)
class TableMapping:
    """A whole mapping: sources by our column, columns left out on purpose, rows left out on purpose."""

    sources: Mapping[str, tuple[Source, ...]] = field(default_factory=dict)
    ignore: frozenset[str] = frozenset()
    skip: tuple[Condition, ...] = ()

    def columns_used(self) -> frozenset[str]:
        """Every column of the file that the mapping reads or names."""
        named = {column for sources in self.sources.values() for one in sources for column in one.columns}
        named |= {one.when.column for sources in self.sources.values() for one in sources if one.when}
        return frozenset(named | {condition.column for condition in self.skip})

    def columns_renamed(self) -> frozenset[str]:
        """Columns of the file that are read under another of our names, and so no longer under their own."""
        return frozenset(one.columns[0] for sources in self.sources.values() for one in sources if one.renames)


NO_MAPPING = TableMapping()


def read_mapping(data: Any, table: Table) -> TableMapping:
    """A mapping from parsed JSON. Raises MappingError with a sentence that names the wrong part."""
    if not isinstance(data, dict):
        raise MappingError("The mapping is no JSON object with “columns”.")
    if extra := sorted(set(data) - {"columns", "ignore", "skip", "about"}):
        raise MappingError(f"The mapping has “{extra[0]}”; it may have columns, ignore, skip, about.")
    columns = data.get("columns", {})
    if not isinstance(columns, dict):
        raise MappingError("“columns” of the mapping is no object of our column names.")
    sources = {}
    for name, given in columns.items():
        column = table.column(name)
        if column is None:
            raise MappingError(f"The mapping names “{name}”, which is no column of {table.kind}.")
        listed = given if isinstance(given, list) else [given]
        sources[name] = tuple(_source(name, one, column.type.sort) for one in listed)
    ignore = frozenset(_strings("ignore", data.get("ignore", [])))
    skip = data.get("skip", [])
    if not isinstance(skip, list):
        raise MappingError("“skip” of the mapping is no list.")
    return TableMapping(sources, ignore, tuple(_condition("skip", one) for one in skip))


def _source(name: str, given: Any, sort: str) -> Source:
    if isinstance(given, str):
        return Source((given,))
    if not isinstance(given, dict):
        raise MappingError(f"{name}: write a column's name or an object.")
    if extra := sorted(set(given) - SOURCE_KEYS):
        raise MappingError(f"{name}: “{extra[0]}” is not known; there are {', '.join(sorted(SOURCE_KEYS))}.")
    columns = (given["column"],) if "column" in given else tuple(given.get("columns", ()))
    if ("value" in given) == bool(columns):
        raise MappingError(f"{name}: give a column, or one value for all rows.")
    unit = given.get("unit", "")
    if unit and unit not in UNITS.get(sort, ()):
        allowed = ", ".join(UNITS.get(sort, ())) or "no unit"
        raise MappingError(f"{name}: the unit “{unit}” does not belong there; it takes {allowed}.")
    values = given.get("values", {})
    if not isinstance(values, dict) or not all(isinstance(word, str) for word in values.values()):
        raise MappingError(f"{name}: “values” is no object of words.")
    texts = {key: given[key] for key in ("join", "others", "split", "before_last") if key in given}
    if not all(isinstance(text, str) for text in (*texts.values(), *columns)):
        raise MappingError(f"{name}: columns, join, others, split and before_last are words.")
    when = _condition(name, given["when"]) if "when" in given else None
    value = None if "value" not in given else str(given["value"])
    return Source(columns, value=value, values=values, unit=unit, when=when, **texts)


def _condition(name: str, given: Any) -> Condition:
    if not isinstance(given, dict) or set(given) != {"column", "in"} or not isinstance(given["column"], str):
        raise MappingError(f"{name}: a condition is written {{“column”: …, “in”: […]}}.")
    return Condition(given["column"], frozenset(_strings(name, given["in"])))


def _strings(name: str, given: Any) -> Iterable[str]:
    if not isinstance(given, list) or not all(isinstance(one, str) for one in given):
        raise MappingError(f"{name}: write a list of words.")
    return given
