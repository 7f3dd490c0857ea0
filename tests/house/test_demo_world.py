"""The program knows nothing of the demo's world: no code, name or number of its tables occurs in the source.

Words for kinds of things (boots, helmet, coat) are everybody's and may be used.
"""

import csv
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "fixtures" / "demo"
FOLDERS = ("catalog", "archive_site", "templates")
TEXT = {".py", ".html", ".css", ".js", ".json", ".csv", ".txt", ".svg", ".toml", ".sql"}
# In titles and role names, but words of the trade or of every day.
EVERYDAY = {
    "at", "the", "old", "hall", "guard", "keeper", "lamp", "seal", "bull", "customs", "officer", "ninety", "bridges",
    "life", "museum", "stills", "publicity", "reshoot", "epilogue", "fish", "quay", "harbour",
}  # fmt: skip


def rows(table: str) -> list[dict[str, str]]:
    with (DEMO / f"{table}.csv").open(encoding="utf-8", newline="") as lines:
        found = list(csv.DictReader(lines))
    assert found, table
    return found


def column(table: str, *names: str) -> set[str]:
    return {row[name].strip() for row in rows(table) for name in names if row[name].strip()}


# Role codes that are English words: a member of an enum may be called SEA, but no string may be "SEA".
CODE_WORDS = {"SEA", "LAN"}


def codes() -> set[str]:
    """What must not occur as a whole word, in just this spelling."""
    call = {row["field"]: row["value"] for row in rows("reshoot")}
    return (
        column("productions", "code")
        | column("roles", "code")
        | column("trunks", "trunk", "home")
        | column("locations", "location")
        | column("pieces", "no", "set", "location", "container")
        | column("holds", "hold")
        | column("extras", "id")
        | {call["reference"]}
    ) - CODE_WORDS


def names() -> set[str]:
    """What must not occur as a whole word in any spelling: titles, people, roles and places, and their rare words."""
    call = {row["field"]: row["value"] for row in rows("reshoot")}
    places = set(re.findall(r"\b[A-Z][a-z]+ [A-Z][a-z]+\b", call["location"]))
    whole = column("productions", "title") | column("roles", "role") | column("extras", "name") | places
    assert len(whole) > 30
    single = {word for phrase in whole for word in re.findall(r"[^\W\d_]{3,}", phrase)}
    return {phrase.lower() for phrase in whole | single} - EVERYDAY


def quoted_codes() -> set[str]:
    """Codes that mean other things elsewhere (HH:MM, by sea): only as a string of their own do they count."""
    return column("rooms", "room") | CODE_WORDS & column("roles", "code")


def source_lines() -> Iterator[tuple[str, int, str]]:
    for folder in FOLDERS:
        for path in sorted((ROOT / folder).rglob("*")):
            if path.suffix in TEXT and path.is_file():
                for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
                    yield str(path.relative_to(ROOT)), number, line


def pattern(words: set[str], before: str = r"(?<![\w-])", after: str = r"(?![\w-])", flags: int = 0) -> re.Pattern[str]:
    return re.compile(f"{before}(?:{'|'.join(re.escape(word) for word in sorted(words))}){after}", flags)


def search() -> list[re.Pattern[str]]:
    return [
        pattern(codes()),
        pattern(names(), r"(?<![^\W_])", r"(?![^\W_])", re.IGNORECASE),
        pattern(quoted_codes(), r"[\"']", r"[\"']"),
    ]


def test_no_word_of_the_demo_world_stands_in_the_source() -> None:
    patterns = search()
    seen, found = 0, []
    for path, number, line in source_lines():
        seen += 1
        found += [f"{path}:{number}: {hit.group()}" for one in patterns if (hit := one.search(line))]
    assert seen > 1000
    assert not found


def test_the_search_finds_what_it_looks_for() -> None:
    """A guard on the guard, with one planted word of each table."""
    first = {
        table: rows(table)[0] for table in ("productions", "roles", "trunks", "pieces", "extras", "rooms", "holds")
    }
    planted = [
        f'if code == "{first["productions"]["code"]}":',
        f"# for the {first['productions']['title']}",
        f"role_{first['roles']['role'].split()[-1].lower()}_first = 1",
        f"move({first['trunks']['trunk']})",
        first["pieces"]["no"],
        first["extras"]["name"],
        f"room = '{first['rooms']['room']}'",
        first["holds"]["hold"],
    ]
    patterns = search()
    missed = [line for line in planted if not any(one.search(line) for one in patterns)]
    assert not missed
    innocent = ["boots = helmet", "HH:MM", "a customs declaration", "the coat is held"]
    assert [line for line in innocent if any(one.search(line) for one in patterns)] == []
