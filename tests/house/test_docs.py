"""The papers say what the program does: the two commands, every room, every setting."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_readme_has_the_two_commands() -> None:
    lines = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    commands = [line for line in lines if line.startswith("python3 -m venv")]
    assert len(commands) == 2
    assert commands[0].endswith("manage.py demo")
    assert re.search(r"\.\[(\w+,)*test(,\w+)*\]", commands[1])
    assert commands[1].endswith("pytest")


def test_developers_md_names_every_setting() -> None:
    source = (ROOT / "archive_site" / "settings.py").read_text(encoding="utf-8")
    settings = set(re.findall(r'"((?:WRAPKEEP|MEDIA_S3)_\w+|DATABASE_URL)"', source))
    assert len(settings) > 10
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert sorted(name for name in settings if f"`{name}`" not in text) == []


def test_developers_md_names_no_setting_that_is_gone() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    source = "".join(
        path.read_text(encoding="utf-8") for path in [*ROOT.glob("archive_site/*.py"), ROOT / "tests/conftest.py"]
    )
    named = set(re.findall(r"`((?:WRAPKEEP|MEDIA_S3)_\w+?)(?:_FILE)?`", text))
    assert named
    assert sorted(name for name in named if f'"{name}"' not in source) == []


def test_developers_md_names_every_room_and_stays_short() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rooms = {path.parent.name for path in (ROOT / "catalog").glob("*/__init__.py")} - {"migrations", "templatetags"}
    assert len(rooms) > 10
    assert sorted(room for room in rooms if f"{room}/" not in text and f"`{room}`" not in text) == []
    assert len(text.splitlines()) <= 200
