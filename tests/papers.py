"""Papers read back: the words and the pictures of a PDF's pages, by poppler's tools."""

import subprocess
import tempfile
from pathlib import Path

from PIL import Image


def words_of(data: bytes) -> str:
    """The text of all pages as laid out; a form feed ends each page."""
    ran = subprocess.run(["pdftotext", "-layout", "-", "-"], input=data, capture_output=True, check=True)
    return ran.stdout.decode()


def pages_of(data: bytes, dpi: int, *, first: int = 1, last: int | None = None) -> list[Image.Image]:
    """The pages as grey pictures."""
    some = ["-f", str(first), *(["-l", str(last)] if last else [])]
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "x.pdf").write_bytes(data)
        command = ["pdftoppm", "-gray", "-r", str(dpi), *some, f"{folder}/x.pdf", f"{folder}/page"]
        subprocess.run(command, check=True, capture_output=True)
        return [Image.open(path).copy() for path in sorted(Path(folder).glob("page*"))]
