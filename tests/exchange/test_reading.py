"""Files as people send them: spreadsheets, CSV of every sort, and what is neither."""

import io
import zipfile
from datetime import date, datetime
from typing import Any

import pytest
from defusedxml.common import DefusedXmlException
from openpyxl import Workbook

from catalog.core.errors import BadTable
from catalog.exchange.reading import MOST_UNPACKED, read_json, read_table


def sheet(*rows: list[Any]) -> bytes:
    book, stream = Workbook(), io.BytesIO()
    page = book.active
    assert page is not None
    for row in rows:
        page.append(row)
    book.save(stream)
    return stream.getvalue()


def cells(data: bytes, name: str = "table.csv") -> list[dict[str, str]]:
    return [dict(row.cells) for row in read_table(data, name).rows]


@pytest.mark.parametrize(
    "data",
    [
        b"no,name\nA-1,coat\n",
        b"no;name\r\nA-1;coat\r\n",
        b"no\tname\nA-1\tcoat\n\n",
        "\ufeffno,name\nA-1,coat".encode(),
        b'"no","name"\n"A-1","coat"\n',
        b"no,name,,\nA-1,coat,,\n",
        b'[{"no": "A-1", "name": "coat"}]',
        b'{"about": "x", "rows": [{"no": "A-1", "name": "coat"}]}',
    ],
)
def test_every_common_shape_gives_the_same_rows(data: bytes) -> None:
    assert cells(data) == [{"no": "A-1", "name": "coat"}]


def test_a_quoted_cell_may_hold_commas_and_lines() -> None:
    assert cells(b'no,name\nA-1,"coat, long\nwith belt"\nA-2,hat\n') == [
        {"no": "A-1", "name": "coat, long\nwith belt"},
        {"no": "A-2", "name": "hat"},
    ]


def test_rows_are_counted_as_a_spreadsheet_counts() -> None:
    table = read_table(b"no\nA-1\n\n\nA-2\n", "t.csv")
    assert [row.number for row in table.rows] == [2, 5]


def test_a_spreadsheet_gives_what_its_csv_would() -> None:
    data = sheet(
        ["no", "chest", "seen", "done", "half"],
        ["A-1", 104, datetime(2025, 11, 3), True, 38.5],
        [12, None, date(2025, 11, 4), False, 0.1 + 0.2],
    )
    assert cells(data, "t.xlsx") == [
        {"no": "A-1", "chest": "104", "seen": "2025-11-03", "done": "yes", "half": "38.5"},
        {"no": "12", "chest": "", "seen": "2025-11-04", "done": "no", "half": "0.3"},
    ]


def test_a_formula_of_a_spreadsheet_stays_one() -> None:
    """A stored result may be stale, so the formula itself arrives and is refused with its row and field."""
    assert cells(sheet(["no", "chest"], ["A-1", "=100+4"])) == [{"no": "A-1", "chest": "=100+4"}]


@pytest.mark.parametrize(
    ("data", "part"),
    [
        ("no,name\nA-1,caf\xe9\n".encode("latin-1"), "not written in UTF-8 (first at line 2)"),
        ("no,name\n".encode("utf-16"), "UTF-16"),
        (b"\x00\x01\x02", "neither a text table nor a spreadsheet"),
        (b"\xd0\xcf\x11\xe0rest", "old spreadsheet"),
        (b"PK\x03\x04 not a zip", "cannot be opened"),
        (b"", "no header"),
        (b"\n\n", "no header"),
        (b"no,,name\nA,B,C\n", "column 2 has no name"),
        (b"no,name,no\nA,B,C\n", "“no” stands twice"),
        (b'no,name\nA-1,"coat\n', "quote mark"),
        (b'[{"no": 1}, 2]', "each an object"),
        (b"[1, 2", "is no JSON (line 1"),
        (b"[" * 100_000, "nested too deeply"),
    ],
)
def test_what_is_no_table_is_refused_with_a_sentence(data: bytes, part: str) -> None:
    with pytest.raises(BadTable) as told:
        read_table(data, "table.csv")
    assert part in told.value.sentence


def test_a_row_with_too_many_cells_is_named() -> None:
    with pytest.raises(BadTable) as told:
        read_table(b"no,name\nA-1,Yard (one, two),x\n", "t.csv")
    assert told.value.faults == ("Row 2 has 4 cells; the header names 2.",)


def test_a_spreadsheet_that_unpacks_to_too_much_is_not_unpacked() -> None:
    stream = io.BytesIO()
    with (
        zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed,
        packed.open("xl/worksheets/sheet1.xml", "w") as member,
    ):
        for _ in range(MOST_UNPACKED // 2**20 + 1):
            member.write(bytes(2**20))
    assert len(stream.getvalue()) < 1_000_000
    with pytest.raises(BadTable, match="unpacks to"):
        read_table(stream.getvalue(), "bomb.xlsx")


def test_a_spreadsheet_with_entities_is_not_opened() -> None:
    """A "billion laughs" inside the workbook: defusedxml refuses it before it grows."""
    bomb = '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY x "ha"><!ENTITY y "&x;&x;&x;">]>'
    good, stream = zipfile.ZipFile(io.BytesIO(sheet(["no"], ["A-1"]))), io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        for item in good.infolist():
            data = good.read(item)
            if item.filename in {"xl/workbook.xml", "xl/worksheets/sheet1.xml"}:
                data = data.replace(b'<?xml version="1.0"?>', b"")
                data = bomb.encode() + data[data.index(b"<w") :]
            packed.writestr(item.filename, data)
    with pytest.raises(BadTable, match="cannot be opened") as told:
        read_table(stream.getvalue(), "laughs.xlsx")
    reasons: list[BaseException] = []
    step: BaseException | None = told.value
    while step is not None:
        reasons.append(step)
        step = step.__cause__ or step.__context__
    assert any(isinstance(reason, DefusedXmlException) for reason in reasons)


def test_json_that_is_none_names_its_line() -> None:
    with pytest.raises(BadTable, match="line 2"):
        read_json(b'{"columns":\n }', "m.json")
