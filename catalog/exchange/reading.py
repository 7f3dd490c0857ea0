"""Reading the file itself: CSV, XLSX or a JSON list of objects, whoever sends it. Nothing of it is ever run."""

import csv
import io
import json
import zipfile
from datetime import datetime, time
from typing import Any
from xml.etree.ElementTree import ParseError

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

from catalog.core.errors import BadTable
from catalog.exchange.calc.rows import RawRow, RawTable

# What stands for the name of the file when the rows were pasted.
PASTED = "pasted rows"
MOST_ROWS = 50_000
MOST_COLUMNS = 200
# An honest sheet of 50,000 rows unpacks to some tens of megabytes; a bomb of 150 kB unpacked to hundreds.
MOST_UNPACKED = 120 * 1024 * 1024


def read_table(data: bytes, file_name: str) -> RawTable:
    """The table in the bytes; CSV, XLSX or JSON, by what is inside. Raises BadTable with a sentence."""
    if data.startswith(b"PK\x03\x04"):
        return _table(_xlsx_records(data), file_name)
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise BadTable(f"{file_name} is an old spreadsheet (.xls). Save it as .xlsx or as CSV UTF-8.")
    text = _decoded(data, file_name)
    if text.lstrip()[:1] in {"[", "{"}:
        return _json_table(text, file_name)
    return _table(_csv_records(text, file_name), file_name)


def read_json(data: bytes, file_name: str) -> Any:
    """Parsed JSON (a mapping, a list of rules). Raises BadTable naming the line."""
    try:
        return json.loads(_decoded(data, file_name))
    except (json.JSONDecodeError, RecursionError) as wrong:
        where = f"line {wrong.lineno}: {wrong.msg}" if isinstance(wrong, json.JSONDecodeError) else "nested too deeply"
        raise BadTable(f"{file_name} is no JSON ({where}).") from wrong


def _decoded(data: bytes, file_name: str) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise BadTable(f"{file_name} is written in UTF-16. Save it as CSV UTF-8.")
    if b"\x00" in data:
        raise BadTable(f"{file_name} is neither a text table nor a spreadsheet.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = data[: wrong.start].count(b"\n") + 1
        raise BadTable(
            f"{file_name} is not written in UTF-8 (first at line {line}). Save it as CSV UTF-8 and load it again."
        ) from wrong


def _csv_records(text: str, file_name: str) -> list[list[str]]:
    first = text.split("\n", 1)[0]
    comma = max((",", ";", "\t"), key=first.count)
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=comma, strict=True))
    except csv.Error as wrong:
        raise BadTable(f"{file_name} cannot be read as a table: {wrong}. Is a quote mark missing?") from wrong


def _xlsx_records(data: bytes) -> list[list[str]]:
    """The first sheet's cells as text. Formulas stay formulas: a kept result may be stale, so it is refused later."""
    try:
        unpacked = sum(item.file_size for item in zipfile.ZipFile(io.BytesIO(data)).infolist())
        if unpacked > MOST_UNPACKED:
            raise BadTable(f"The spreadsheet unpacks to {unpacked // 1024**2} MB; {MOST_UNPACKED // 1024**2} MB fit.")
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)
        try:
            rows = book.worksheets[0].iter_rows(max_row=MOST_ROWS + 2, max_col=MOST_COLUMNS + 1, values_only=True)
            return [[_as_text(cell) for cell in row] for row in rows]
        finally:
            book.close()
    except (zipfile.BadZipFile, InvalidFileException, ParseError, KeyError, IndexError, ValueError, OSError) as wrong:
        # Refused entities and other XML tricks (defusedxml) arrive as ValueError too.
        raise BadTable("The file looks like a spreadsheet but cannot be opened. Save it again as .xlsx.") from wrong


def _as_text(cell: Any) -> str:
    """A spreadsheet's value as a CSV would have it."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime) and cell.time() == time(0):
        return cell.date().isoformat()
    if isinstance(cell, float):
        return f"{cell:.10f}".rstrip("0").rstrip(".")
    if hasattr(cell, "ref") and hasattr(cell, "text"):  # an array formula
        return str(cell.text)
    return "" if cell is None else str(cell)


def _table(records: list[list[str]], file_name: str) -> RawTable:
    records = [[cell.strip() for cell in record] for record in records]
    if not records or not any(records[0]):
        raise BadTable(f"{file_name} has no header: the first row names the columns.")
    header = records[0]
    while header and not header[-1]:
        header.pop()
    _check_header(header, file_name)
    rows, faults = [], []
    for number, record in enumerate(records[1:], 2):
        if not any(record):
            continue
        if any(record[len(header) :]):
            faults.append(f"Row {number} has {len(record)} cells; the header names {len(header)}.")
        rows.append(RawRow(number, dict(zip(header, [*record, *[""] * len(header)], strict=False))))
    if len(rows) > MOST_ROWS:
        raise BadTable(f"{file_name} has more than {MOST_ROWS} rows. Load it in parts.")
    if faults:
        raise BadTable(f"{file_name} cannot be read.", faults[:50])
    return RawTable(tuple(header), tuple(rows))


def _check_header(header: list[str], file_name: str) -> None:
    if len(header) > MOST_COLUMNS:
        raise BadTable(f"{file_name} has more than {MOST_COLUMNS} columns.")
    if "" in header:
        raise BadTable(f"{file_name}: column {header.index('') + 1} has no name in the first row.")
    if twice := [name for name in header if header.count(name) > 1]:
        raise BadTable(f"{file_name}: the column “{twice[0]}” stands twice in the first row.")


def _json_table(text: str, file_name: str) -> RawTable:
    """A list of objects, or an object with “rows”; lists inside a row are joined, as a CSV would write them."""
    data = read_json(text.encode(), file_name)
    items = data.get("rows") if isinstance(data, dict) else data
    if not isinstance(items, list) or not items or not all(isinstance(item, dict) for item in items):
        raise BadTable(f"{file_name} is no list of rows, each an object of columns.")
    header = tuple(dict.fromkeys(str(key) for item in items for key in item))
    rows = []
    for number, item in enumerate(items, 1):
        cells = {}
        for name in header:
            value = item.get(name)
            cells[name] = "|".join(map(str, value)) if isinstance(value, list) else _as_text(value).strip()
        rows.append(RawRow(number, cells))
    return RawTable(header, tuple(rows))
