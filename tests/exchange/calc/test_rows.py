"""From a table as it stands to rows of values."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.exchange.calc.columns import TABLES
from catalog.exchange.calc.mapping import NO_MAPPING, MappingError, read_mapping
from catalog.exchange.calc.order import parents_first
from catalog.exchange.calc.rows import MOST_FAULTS, Parsed, RawRow, RawTable, Row, parse

PIECES, PLACES = TABLES["pieces"], TABLES["places"]


def raw(*rows: dict[str, str]) -> RawTable:
    header = tuple(dict.fromkeys(name for row in rows for name in row))
    return RawTable(header, tuple(RawRow(n, {h: row.get(h, "") for h in header}) for n, row in enumerate(rows, 2)))


def pieces(*rows: dict[str, str], mapping: Any = None) -> Parsed:
    whole = [{"number": f"A-{n}", "name": "coat", "production": "A"} | row for n, row in enumerate(rows)]
    return parse(PIECES, raw(*whole), read_mapping(mapping, PIECES) if mapping else NO_MAPPING)


def test_an_empty_cell_is_unknown_and_not_nothing() -> None:
    parsed = pieces({"weight": "", "chest": "104"})
    assert parsed.faults == ()
    assert "weight" not in parsed.rows[0].values
    assert parsed.rows[0].get("chest") == 1040


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        ({"chest": "9"}, "Row 2, chest: Chest, all round: 9 cm cannot be right; it lies between 40 and 250 cm."),
        ({"chest": "wide"}, "Row 2, chest: “wide” is no length, for example 96.5 or 38 in."),
        ({"name": "=A1"}, "Row 2, name: the cell is a formula (=A1). Save the table with its values."),
        ({"kind": "spaceship"}, "Row 2, kind: “spaceship” is not known; write one of: "),
        ({"production": ""}, "Row 2, production: is empty."),
    ],
)
def test_a_fault_names_row_and_field(row: dict[str, str], sentence: str) -> None:
    (fault,) = pieces(row).faults
    assert fault.startswith(sentence)


def test_a_missing_column_is_named_with_what_is_there() -> None:
    parsed = parse(PIECES, raw({"no": "1", "name": "coat"}))
    assert parsed.faults == (
        "The column “number” is missing. The file has: no, name.",
        "The column “production” is missing. The file has: no, name.",
    )


def test_two_rows_cannot_share_a_number() -> None:
    parsed = pieces({"number": "X-1"}, {}, {"number": "x-1"})
    assert parsed.faults == ("Row 4, number: x-1 stands in row 2 already.",)


def test_a_column_nobody_knows_is_reported() -> None:
    parsed = pieces({"shelf mark": "q", "old no": "7"}, mapping={"ignore": ["old no"]})
    assert parsed.notes == (
        "Not read, because nothing says what they are: shelf mark.",
        "Left out on purpose: old no.",
    )


def test_a_table_of_the_wrong_kind_does_not_give_thousands_of_lines() -> None:
    parsed = pieces(*[{"chest": "x"}] * 200)
    assert len(parsed.faults) == MOST_FAULTS + 1
    assert parsed.faults[-1] == "And 150 more like these."


def test_a_mapping_translates_splits_and_chooses() -> None:
    rules = {
        "columns": {
            "weight": {"column": "wt", "unit": "lb"},
            "hazards": {"column": "risk", "split": ";", "values": {"Pb": "lead=confirmed", "?": ""}},
            "kind": [
                {"columns": ["role", "part"], "join": "/", "values": {"R/lid": "hat"}, "others": ""},
                {"column": "part", "values": {"pot": "helmet"}, "others": "other"},
            ],
            "home": {"column": "bay", "before_last": "-"},
            "currency": {"value": "EUR"},
            "let_out_sleeve_cb": {"column": "spare", "when": {"column": "part", "in": ["pot"]}},
            "sleeve_cb": {"value": "80"},
        },
        "skip": [{"column": "part", "in": ["junk"]}],
    }
    parsed = pieces(
        {"wt": "2", "risk": "Pb; ?", "role": "R", "part": "lid", "bay": "H1-2", "spare": "3"},
        {"wt": "", "risk": "", "role": "S", "part": "pot", "bay": "", "spare": "3"},
        {"part": "junk"},
        mapping=rules,
    )
    assert parsed.faults == ()
    first, second = parsed.rows
    assert first.get("weight") == 907
    assert (first.get("hazards"), first.get("kind"), first.get("home")) == (("lead=confirmed",), "hat", "H1")
    assert first.get("let_out_sleeve_cb") is None
    assert (second.get("kind"), second.get("let_out_sleeve_cb"), second.get("currency")) == ("helmet", 30, "EUR")
    assert "1 row left out, as the mapping says." in parsed.notes


@pytest.mark.parametrize(
    ("rules", "part"),
    [
        ([], "no JSON object"),
        ({"colums": {}}, "“colums”"),
        ({"columns": {"girth": "a"}}, "“girth”, which is no column of pieces"),
        ({"columns": {"weight": {"column": "a", "unit": "cm"}}}, "it takes g, kg, lb"),
        ({"columns": {"name": {"column": "a", "value": "b"}}}, "give a column, or one value"),
        ({"columns": {"name": {"colum": "a"}}}, "“colum” is not known"),
        ({"columns": {"name": {"column": "a", "values": {"x": 1}}}}, "no object of words"),
        ({"columns": {"name": {"column": 3}}}, "are words"),
        ({"columns": {"name": {"column": "a", "when": "b"}}}, "a condition is written"),
        ({"skip": [{"column": "a"}]}, "a condition is written"),
        ({"ignore": "a"}, "a list of words"),
    ],
)
def test_a_wrong_mapping_is_refused_with_its_part_named(rules: Any, part: str) -> None:
    with pytest.raises(MappingError) as told:
        read_mapping(rules, PIECES)
    assert part in str(told.value)


def test_a_mapping_of_a_column_that_is_not_there() -> None:
    parsed = pieces({}, mapping={"columns": {"weight": "wt"}})
    assert parsed.faults[0].startswith("The file has no column “wt”, which the mapping reads.")


def test_a_renamed_column_is_read_under_its_new_name_only() -> None:
    parsed = pieces({"sleeve": "80"}, mapping={"columns": {"sleeve_cb": {"column": "sleeve", "unit": "cm"}}})
    assert parsed.rows[0].get("sleeve_cb") == 800
    assert parsed.rows[0].get("sleeve") is None
    kept = pieces({"sleeve": "80"}, mapping={"columns": {"sleeve_cb": "sleeve", "sleeve": "sleeve"}})
    assert (kept.rows[0].get("sleeve_cb"), kept.rows[0].get("sleeve")) == (800, 800)


def test_a_match_group_is_named_in_its_column() -> None:
    parsed = pieces({"match:dye lot": "7b"})
    assert parsed.rows[0].get("match:dye lot") == "7b"


CODES = st.sampled_from("abcdef")


@given(st.dictionaries(CODES, st.one_of(st.none(), CODES), max_size=6))
def test_parents_come_first_unless_they_form_a_ring(parents: dict[str, str | None]) -> None:
    rows = [
        Row(n, {"code": code} | ({"parent": parent} if parent else {}), {})
        for n, (code, parent) in enumerate(parents.items())
    ]
    ordered = [row.get("code") for row in parents_first(rows)]
    assert sorted(ordered) == sorted(parents)
    for code, parent in parents.items():
        above, step = set(), parent
        while step in parents and step not in above:
            above.add(step)
            step = parents[step]
        if parent in parents and code not in above:
            ring = parent in {parents.get(one) for one in above} and any(parents.get(one) in above for one in above)
            assert ring or ordered.index(parent) < ordered.index(code)
