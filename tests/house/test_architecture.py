"""The laws of the house that no linter can see."""

import ast
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings

ROOT = Path(__file__).resolve().parents[2]
CATALOG = ROOT / "catalog"
# From the bottom up; rooms in one row are siblings and may not point at each other.
FLOORS = (
    ("core",),
    ("access",),
    ("pieces",),
    ("care",),
    ("storage",),
    ("loans",),
    ("fitting", "shipping"),
    ("exchange", "finding"),
    ("desk",),
)
FLOOR_OF = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}
OURS = {"catalog", "archive_site", "tests"}
TOP = {"README.md", "DEVELOPERS.md", "manage.py", "pyproject.toml", "fixtures", "templates", *OURS}


def sources(*folders: str, suffix: str) -> list[Path]:
    found = [path for folder in folders for path in sorted((ROOT / folder).rglob(f"*{suffix}"))]
    assert found, f"no {suffix} file under {folders}"
    return found


def short(path: Path) -> str:
    return str(path.relative_to(ROOT))


def length(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def imported(path: Path) -> set[str]:
    """Every module name that a file imports, wherever in the file."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = "." * node.level + (node.module or "")
            names |= {f"{base}.{alias.name}" for alias in node.names} | {base}
    return names


def room_of(module: str) -> str:
    """catalog.pieces.piece_models -> pieces."""
    return module.split(".")[1]


def test_every_room_stands() -> None:
    folders = {path.parent.name for path in CATALOG.glob("*/__init__.py")}
    assert folders - {"management", "migrations", "templatetags"} == set(FLOOR_OF)


def test_foreign_keys_point_down() -> None:
    """A string such as "catalog.Piece" hides the room from import-linter, so every relation is walked."""
    looked_at, up = 0, []
    for model in apps.get_app_config("catalog").get_models(include_auto_created=False):
        own = room_of(model.__module__)
        for field in model._meta.get_fields():
            target = getattr(field, "related_model", None)
            if not getattr(field, "concrete", False) or target is None or not target.__module__.startswith("catalog."):
                continue
            looked_at += 1
            to = room_of(target.__module__)
            if target._meta.label == settings.AUTH_USER_MODEL or to == own:
                continue
            if FLOOR_OF[to] >= FLOOR_OF[own]:
                up.append(f"{model.__name__}.{field.name} ({own}) -> {target.__name__} ({to})")
    assert looked_at > 10
    assert not up


def test_every_table_is_found() -> None:
    """A models file that catalog/models.py forgets loses its tables in silence."""
    door = imported(CATALOG / "models.py")
    files = sorted(path.parent.name for path in CATALOG.glob("*/models.py"))
    assert files
    assert [room for room in files if f"catalog.{room}.models" not in door] == []
    # Tables may stand in several files of a room; each must be in the registry all the same.
    registered = {(model.__module__, model.__name__) for model in apps.get_app_config("catalog").get_models()}
    lost = []
    for path in CATALOG.glob("*/*models*.py"):
        module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and any(ast.unparse(base) == "models.Model" for base in node.bases):
                abstract = "abstract = True" in ast.unparse(node)
                if not abstract and (module, node.name) not in registered:
                    lost.append(f"{module}.{node.name}")
    assert not lost


def test_no_table_name_stands_twice() -> None:
    """Rooms share one label, so a class name is a table name; Django only notices when both files are imported."""
    seen: dict[str, str] = {}
    twice = []
    for path in CATALOG.glob("*/*models*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and any("Model" in ast.unparse(base) for base in node.bases):
                if node.name in seen:
                    twice.append(f"{node.name}: {seen[node.name]} and {short(path)}")
                seen[node.name] = short(path)
    assert seen
    assert not twice


def calc_modules() -> list[str]:
    return [
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        for path in sorted(CATALOG.glob("*/calc/**/*.py"))
    ]


def test_calc_runs_without_django() -> None:
    """In a fresh Python, importing all of calc leaves Django, the database drivers and Pillow unloaded."""
    modules = calc_modules()
    assert modules
    lines = [f"import {name}" for name in modules]
    lines.append("import sys; print([m for m in ('django', 'psycopg', 'PIL', 'sqlite3') if m in sys.modules])")
    environment = {key: value for key, value in os.environ.items() if key != "DJANGO_SETTINGS_MODULE"}
    done = subprocess.run(
        [sys.executable, "-c", "\n".join(lines)], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "[]"


def test_calc_has_no_clock() -> None:
    """Today is an argument: a call of now() or today() in calc/ would make an answer depend on when it is asked."""
    wrong = [
        f"{short(path)}:{number}"
        for path in CATALOG.glob("*/calc/**/*.py")
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if re.search(r"\b(date\.today|datetime\.now|datetime\.utcnow|time\.time)\(", line)
    ]
    assert not wrong


def test_migrations_import_only_core() -> None:
    """A migration that names a room's function dies when the function moves."""
    wrong = {
        short(path): names
        for path in sources("catalog/migrations", suffix=".py")
        if (names := {n for n in imported(path) if n.startswith(("catalog", ".")) and not n.startswith("catalog.core")})
        and names != {"catalog"}
    }
    assert not wrong


def test_the_app_does_not_import_its_site_or_tests() -> None:
    wrong = {
        short(path): names
        for path in sources("catalog", suffix=".py")
        if (names := {n for n in imported(path) if n.split(".")[0] in {"archive_site", "tests"}})
    }
    assert not wrong


def test_inner_packages_are_empty() -> None:
    """Nothing runs by importing a room; what a room offers stands in its named files."""
    filled = [short(p) for p in CATALOG.rglob("__init__.py") if p.read_text(encoding="utf-8").strip()]
    assert not filled


@pytest.mark.parametrize(("suffix", "most", "folders"), [(".py", 400, sorted(OURS)), (".html", 160, ["templates"])])
def test_files_stay_short(suffix: str, most: int, folders: list[str]) -> None:
    long_files = {
        short(path): length(path)
        for path in sources(*folders, suffix=suffix)
        if path.parent != CATALOG / "migrations" and length(path) > most
    }
    assert not long_files


def test_functions_stay_short() -> None:
    long_functions = [
        f"{short(path)}:{node.lineno} {node.name}"
        for path in sources("catalog", "archive_site", suffix=".py")
        if path.parent != CATALOG / "migrations"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and (node.end_lineno or 0) - node.lineno >= 60
    ]
    assert not long_functions


def test_pages_carry_no_inline_script_or_style() -> None:
    """The content policy would refuse them in the browser, where nobody reads the log."""
    rule = re.compile(r"<style\b|\sstyle\s*=|\son[a-z]+\s*=\s*[\"']|<script(?![^>]*\bsrc=)|javascript:", re.IGNORECASE)
    wrong = [
        f"{short(path)}:{number}: {line.strip()[:80]}"
        for path in sources("templates", suffix=".html")
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if rule.search(line) and 'type="application/json"' not in line
    ]
    assert not wrong


def test_nothing_is_left_for_later() -> None:
    words = re.compile(r"\b(TODO|FIXME|XXX|HACK|NotImplementedError)\b")
    here = Path(__file__)
    wrong = [
        f"{short(path)}:{number}"
        for path in [*sources(*OURS, suffix=".py"), *sources("templates", suffix=".html")]
        if path != here
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if words.search(line)
    ]
    assert not wrong


def test_the_top_of_the_tree_is_as_designed() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode != 0:
        pytest.skip("not a git checkout")
    top = {name.split("/")[0] for name in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} <= TOP
