"""From a raw table to rows of values: each cell read by its column's type, each fault a sentence with row and field."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from catalog.exchange.calc.cells import CellError, is_formula, read
from catalog.exchange.calc.columns import Column, Table
from catalog.exchange.calc.mapping import NO_MAPPING, Source, TableMapping
from catalog.pieces.calc.kinds import POINTS, impossible

MOST_FAULTS = 50


@dataclass(frozen=True, slots=True)
class RawRow:
    """A row as it stands: its number as a spreadsheet counts (the header is row 1), and its cells by column."""

    number: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class RawTable:
    """A table as it stands in its file."""

    header: tuple[str, ...]
    rows: tuple[RawRow, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """A row that was understood: our columns with values, filled ones only; `fields` has the file's name of each."""

    number: int
    values: Mapping[str, Any]
    fields: Mapping[str, str]

    def get(self, name: str, default: Any = None) -> Any:
        return self.values.get(name, default)

    def said(self, name: str, sentence: str) -> str:
        """The sentence with row and field before it, the field named as in the file."""
        return f"Row {self.number}, {self.fields.get(name, name)}: {sentence}"


@dataclass(frozen=True, slots=True)
class Parsed:
    """What was understood. With any fault nothing may be stored. Notes tell what was left out."""

    rows: tuple[Row, ...]
    faults: tuple[str, ...]
    notes: tuple[str, ...]


def parse(table: Table, raw: RawTable, mapping: TableMapping = NO_MAPPING, *, shift_days: int = 0) -> Parsed:
    """Read all rows by the table's columns. Dates, constants among them, are moved by `shift_days`."""
    sources = _sources(table, raw, mapping)
    faults = list(_header_faults(table, raw, mapping, sources))
    notes = list(_header_notes(raw, mapping, sources))
    if faults:
        return Parsed((), tuple(faults), tuple(notes))
    rows, skipped = [], 0
    for line in raw.rows:
        if any(condition.holds(line.cells) for condition in mapping.skip):
            skipped += 1
            continue
        row, wrong = _row(table, line, sources, shift_days)
        faults += wrong
        rows.append(row)
    if skipped:
        notes.append(f"{skipped} {'row' if skipped == 1 else 'rows'} left out, as the mapping says.")
    faults += _repeated(table, rows)
    if not rows and not faults:
        faults.append("The table has no rows under its header.")
    return Parsed(tuple(rows), _first(faults), tuple(notes))


def _sources(table: Table, raw: RawTable, mapping: TableMapping) -> dict[str, tuple[Source, ...]]:
    """Our columns by name, each with where it comes from; the file's own columns of our names last."""
    found = dict(mapping.sources)
    taken = mapping.ignore | mapping.columns_renamed()
    for theirs in raw.header:
        start, mark, rest = theirs.strip().partition(":")
        ours = start.lower().replace(" ", "_") + mark + rest
        if ours not in found and theirs not in taken and table.column(ours):
            found[ours] = (Source((theirs,)),)
    return found


def _header_faults(
    table: Table, raw: RawTable, mapping: TableMapping, sources: Mapping[str, tuple[Source, ...]]
) -> Iterator[str]:
    there = set(raw.header)
    for column in sorted(mapping.columns_used() - there):
        yield f"The file has no column “{column}”, which the mapping reads. It has: {', '.join(raw.header)}."
    for needed in table.columns:
        if needed.required and needed.name not in sources:
            yield f"The column “{needed.name}” is missing. The file has: {', '.join(raw.header)}."


def _header_notes(raw: RawTable, mapping: TableMapping, sources: Mapping[str, tuple[Source, ...]]) -> Iterator[str]:
    used = mapping.columns_used() | mapping.ignore
    used |= {column for listed in sources.values() for one in listed for column in one.columns}
    if unread := [column for column in raw.header if column not in used]:
        yield f"Not read, because nothing says what they are: {', '.join(unread)}."
    if left_out := [column for column in raw.header if column in mapping.ignore]:
        yield f"Left out on purpose: {', '.join(left_out)}."


def _row(
    table: Table, line: RawRow, sources: Mapping[str, tuple[Source, ...]], shift_days: int
) -> tuple[Row, list[str]]:
    faults = [
        f"Row {line.number}, {column}: the cell is a formula ({text[:20]}). Save the table with its values."
        for column, text in line.cells.items()
        if is_formula(text)
    ]
    values: dict[str, Any] = {}
    fields: dict[str, str] = {}
    for name, listed in sources.items():
        column = table.column(name)
        source, text = _first_text(listed, line.cells)
        fields[name] = source.columns[0] if source.columns else name
        if column is None or not text or is_formula(text):
            continue
        try:
            values[name] = _value(table, column, source, text, shift_days)
        except CellError as wrong:
            faults.append(f"Row {line.number}, {fields[name]}: {wrong}")
    row = Row(line.number, values, fields)
    if not faults:
        faults = [row.said(c.name, "is empty.") for c in table.columns if c.required and c.name not in values]
    return row, faults


def _first_text(sources: tuple[Source, ...], cells: Mapping[str, str]) -> tuple[Source, str]:
    for source in sources:
        if text := source.text(cells).strip():
            return source, text
    return sources[0], ""


def _value(table: Table, column: Column, source: Source, text: str, shift_days: int) -> Any:
    kind = replace(column.type, unit=source.unit) if source.unit else column.type
    value = read(text, kind, shift_days=shift_days)
    if table.kind == "pieces" and column.name in POINTS and (sentence := impossible(column.name, value)):
        raise CellError(sentence)
    return value


def _repeated(table: Table, rows: list[Row]) -> Iterator[str]:
    """Rows that share what must be their own."""
    if not table.unique:
        return
    first: dict[tuple[str, ...], int] = {}
    for row in rows:
        key = tuple(str(row.get(name, "")).lower() for name in table.unique)
        if not all(key):
            continue
        if key in first:
            shown = " ".join(str(row.get(name)) for name in table.unique)
            yield row.said(table.unique[-1], f"{shown} stands in row {first[key]} already.")
        else:
            first[key] = row.number


def _first(faults: list[str]) -> tuple[str, ...]:
    """A table of the wrong kind would give thousands: the first ones and how many more."""
    if len(faults) <= MOST_FAULTS:
        return tuple(faults)
    return (*faults[:MOST_FAULTS], f"And {len(faults) - MOST_FAULTS} more like these.")
