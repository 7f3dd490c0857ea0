"""The tools that read the source are tests too: lint, format, types, templates, import laws, migrations."""

import os
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest
from django.db.migrations.loader import MigrationLoader

ROOT = Path(__file__).resolve().parents[2]
SCRIPTS = Path(sysconfig.get_path("scripts"))


def run(*command: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run a tool of this very environment in the project's root."""
    program = sys.executable if command[0] == "python" else str(SCRIPTS / command[0])
    return subprocess.run(
        [program, *command[1:]],
        cwd=ROOT,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )


def said(done: subprocess.CompletedProcess[str]) -> str:
    return (done.stdout + done.stderr)[-8000:]


@pytest.mark.parametrize(
    "command",
    [
        pytest.param(["ruff", "check", "--no-cache", "."], id="ruff-check"),
        pytest.param(["ruff", "format", "--no-cache", "--check", "."], id="ruff-format"),
        pytest.param(["djlint", "--lint", "--quiet", "templates"], id="djlint"),
        pytest.param(["lint-imports", "--no-cache"], id="import-laws"),
        pytest.param(["mypy"], id="mypy"),
    ],
)
def test_the_source_passes(command: list[str]) -> None:
    done = run(*command)
    assert done.returncode == 0, said(done)


def test_the_import_laws_can_fail(tmp_path: Path) -> None:
    """A guard on the guard: with an upward import and a Django import in calc/ both contracts break."""
    for room in (
        "access",
        "care",
        "core",
        "desk",
        "exchange",
        "finding",
        "fitting",
        "loans",
        "pieces",
        "shipping",
        "storage",
    ):
        (tmp_path / "catalog" / room).mkdir(parents=True)
        (tmp_path / "catalog" / room / "__init__.py").touch()
    for name in ("__init__", "apps", "models", "urls"):
        (tmp_path / "catalog" / f"{name}.py").touch()
    for folder in ("management", "core/calc", "migrations"):
        (tmp_path / "catalog" / folder).mkdir()
        (tmp_path / "catalog" / folder / "__init__.py").touch()
    (tmp_path / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text())
    lint = [str(SCRIPTS / "lint-imports"), "--no-cache"]
    environment = {**os.environ, "PYTHONPATH": str(tmp_path)}

    (tmp_path / "catalog/core/calc/__init__.py").write_text("import math\n")
    sound = subprocess.run(lint, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False)
    assert sound.returncode == 0, said(sound)

    (tmp_path / "catalog/core/calc/__init__.py").write_text("import django\n")
    (tmp_path / "catalog/pieces/__init__.py").write_text("import catalog.loans\n")
    broken = subprocess.run(lint, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False)
    assert broken.returncode != 0
    assert "Contracts: 0 kept, 2 broken" in broken.stdout, said(broken)


def test_no_migration_is_missing() -> None:
    done = run("python", "manage.py", "makemigrations", "--check", "--dry-run", DATABASE_URL="")
    assert done.returncode == 0, said(done)


def test_migrations_have_one_end() -> None:
    leaves = MigrationLoader(None).graph.leaf_nodes("catalog")
    assert len(leaves) == 1, f"several last migrations: {leaves}"
