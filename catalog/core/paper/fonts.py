"""The two embedded typefaces of all papers: Fira Sans for words, IBM Plex Mono for numbers and codes.

Both are under the SIL Open Font License and come as packages, because a PDF's built-in fonts cannot write "Łódź". The
mono face has a dotted zero: on a label 0 and O must not be mixed up. What neither face can draw (Chinese, for example)
is printed as an empty box, never left out.
"""

from bisect import bisect_right
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

from reportlab import rl_config
from reportlab.lib.fonts import addMapping
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

TEXT, BOLD, MONO, MONO_BOLD = "PaperText", "PaperText-Bold", "PaperMono", "PaperMono-Bold"
_FILES = {
    TEXT: ("fontpkg_fira_sans", "FiraSans-Regular.ttf"),
    BOLD: ("fontpkg_fira_sans", "FiraSans-SemiBold.ttf"),
    MONO: ("fontpkg_ibm_plex_mono", "IBMPlexMono-Regular.ttf"),
    MONO_BOLD: ("fontpkg_ibm_plex_mono", "IBMPlexMono-SemiBold.ttf"),
}


@lru_cache(maxsize=1)
def register() -> None:
    """Make the faces known to the PDF library; reading the files takes a tenth of a second, once a process."""
    rl_config.useA85 = 0  # compressed bytes as they are, not a quarter larger as text
    for name, (package, file) in _FILES.items():
        pdfmetrics.registerFont(TTFont(name, str(_folder(package) / "files" / file)))
    for bold in (0, 1):
        for italic in (0, 1):  # there is no italic: an emphasis in a text stays upright
            addMapping(TEXT, bold, italic, BOLD if bold else TEXT)
            addMapping(MONO, bold, italic, MONO_BOLD if bold else MONO)


def width_of(text: str, font: str, points: float) -> float:
    """How wide the text will stand, in points."""
    return float(pdfmetrics.stringWidth(text, font, points))


def fitted(text: str, font: str, largest: float, width: float, smallest: float = 5.0) -> float:
    """The size, at most `largest`, at which the text stands within the width; not below `smallest`."""
    wide = width_of(text, font, largest)
    return round(largest if wide <= width else max(smallest, largest * width / wide - 0.05), 1)


def cut(text: str, font: str, points: float, width: float) -> str:
    """The text, shortened with an ellipsis where it is too wide."""
    if width_of(text, font, points) <= width:
        return text
    keeps = bisect_right(range(len(text)), width, key=lambda n: width_of(f"{text[:n]}…", font, points))
    return f"{text[: max(0, keeps - 1)].rstrip()}…"


def lines_of(text: str, font: str, points: float, width: float, most: int) -> list[str]:
    """The text broken at spaces into at most so many lines; the last one is cut where it must be."""
    lines: list[str] = []
    words = text.split()
    while words and len(lines) < most:
        line = words.pop(0)
        while words and width_of(f"{line} {words[0]}", font, points) <= width:
            line = f"{line} {words.pop(0)}"
        lines.append(line)
    if words:
        lines[-1] = f"{lines[-1]} {' '.join(words)}"
    return [cut(line, font, points, width) for line in lines]


def _folder(package: str) -> Path:
    spec = find_spec(package)
    if spec is None or spec.origin is None:
        raise RuntimeError(f"The package {package.replace('_', '-')} is not installed: papers need its fonts.")
    return Path(spec.origin).parent
