"""On a deployed site every program finds what it imports, under the names that hold a hash."""

import re
from pathlib import Path

from tests.house.test_settings import DEPLOYED, start


def test_programs_import_one_another_by_their_hashed_names(tmp_path: Path) -> None:
    done = start("manage.py", "collectstatic", "--noinput", "-v0", data=tmp_path, **DEPLOYED)
    assert done.returncode == 0, done.stderr
    folder = tmp_path / "static" / "catalog" / "js"
    imports = [
        (file.name, name)
        for file in folder.glob("*.????????????.js")
        for name in re.findall(r'from "\./([^"]+)"', file.read_text(encoding="utf-8"))
    ]
    assert len(imports) > 5
    lost = [one for one in imports if not re.search(r"\.[0-9a-f]{12}\.js$", one[1]) or not (folder / one[1]).exists()]
    assert not lost
