"""Reads of one person on one day become one line; everything else stays as it is."""

from datetime import datetime, timedelta

from catalog.loans.calc.folding import Entry, folded

PLAIN = {"sheets read": "read the sheets"}
NOON = datetime(2031, 6, 7, 15, 2)


def entry(verb: str, hours: int = 0, by: str = "lead") -> Entry:
    """So many hours before two past three."""
    when = NOON - timedelta(hours=hours)
    return Entry(when, when, by, verb, verb=verb)


def texts(entries: list[Entry]) -> list[str]:
    return [one.text for one in entries]


def test_reads_of_a_day_are_one_line_with_the_last_time() -> None:
    lines = [entry("sheets read", n) for n in range(3)] + [entry("took the call", 4)]
    assert texts(folded(lines, PLAIN, 12)) == ["read the sheets 3 times, last 15:02", "took the call"]


def test_one_read_is_told_plainly() -> None:
    assert texts(folded([entry("sheets read")], PLAIN, 12)) == ["read the sheets"]


def test_other_days_and_other_people_are_lines_of_their_own() -> None:
    lines = [entry("sheets read"), entry("sheets read", 1, "maker"), entry("sheets read", 20), entry("sheets read", 21)]
    assert texts(folded(lines, PLAIN, 12)) == [
        "read the sheets",
        "read the sheets",
        "read the sheets 2 times, last 19:02",
    ]


def test_a_read_between_other_acts_joins_its_day() -> None:
    lines = [entry("sheets read"), entry("asked for", 1), entry("sheets read", 2)]
    assert texts(folded(lines, PLAIN, 12)) == ["read the sheets 2 times, last 15:02", "asked for"]


def test_reads_do_not_push_the_rest_out_and_are_counted_to_the_end_of_their_day() -> None:
    lines = [entry("sheets read", 0) for _ in range(500)] + [entry("asked for", 1), entry("took the call", 30)]
    assert texts(folded(lines, PLAIN, 2)) == ["read the sheets 500 times, last 15:02", "asked for"]
    late = [entry("asked for"), entry("sheets read", 1), entry("changed", 2), entry("sheets read", 3)]
    assert texts(folded(late, PLAIN, 2)) == ["asked for", "read the sheets 2 times, last 14:02"]
