"""Contrast of every pair of tokens, worked out from the style sheet itself.

Outside check: relative luminance and contrast ratio as defined by WCAG 2.2 (w3.org/TR/WCAG22/#dfn-relative-luminance,
#dfn-contrast-ratio); its limits are 4.5:1 for text and 3:1 for controls, ours is 5:1 for text.
"""

import re
from pathlib import Path

import pytest

SHEET = Path(__file__).parents[2] / "catalog/static/catalog/css/tokens.css"
GROUNDS = ("paper", "card", "linen")
TEXTS = ("ink", "soft", "indigo", "moss", "ochre", "madder", "slate")
FILLS = ("indigo", "slate", "madder", "moss", "ochre")
BLOCKS = {
    "light": r"^:root \{",
    "dark": r'^  :root:not\(\[data-scheme="light"\]\) \{',
    "dark, fixed": r'^:root\[data-scheme="dark"\] \{',
}


def colours(scheme: str) -> dict[str, str]:
    """The colour tokens of one block of the sheet."""
    css = SHEET.read_text(encoding="utf-8")
    found = re.search(BLOCKS[scheme], css, flags=re.MULTILINE)
    assert found, f"the sheet has no block for {scheme}"
    block = css[found.end() : css.index("}", found.end())]
    return dict(re.findall(r"--([a-z-]+): (#[0-9A-Fa-f]{6});", block))


def luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_the_known_ends() -> None:
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#777777", "#777777") == pytest.approx(1)
    # The well-known darkest failing and lightest passing greys on white at 4.5:1.
    assert contrast("#777777", "#FFFFFF") < 4.5 < contrast("#767676", "#FFFFFF")


@pytest.mark.parametrize("scheme", BLOCKS)
@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("text", TEXTS)
def test_text_reads_on_every_ground(scheme: str, ground: str, text: str) -> None:
    tokens = colours(scheme)
    assert contrast(tokens[text], tokens[ground]) >= 5, f"{text} on {ground}, {scheme}"


@pytest.mark.parametrize("scheme", BLOCKS)
@pytest.mark.parametrize("fill", FILLS)
def test_text_reads_on_filled_shapes(scheme: str, fill: str) -> None:
    tokens = colours(scheme)
    assert contrast(tokens["on-act"], tokens[fill]) >= 5


@pytest.mark.parametrize("scheme", BLOCKS)
@pytest.mark.parametrize("ground", GROUNDS)
def test_lines_show_on_every_ground(scheme: str, ground: str) -> None:
    tokens = colours(scheme)
    assert contrast(tokens["line"], tokens[ground]) >= 3


def test_the_two_dark_blocks_are_alike_and_name_every_light_token() -> None:
    assert colours("dark") == colours("dark, fixed")
    assert colours("dark").keys() == colours("light").keys()


def test_no_sheet_has_a_colour_of_its_own() -> None:
    """Only tokens.css and the paper's black and white may name a colour."""
    for sheet in SHEET.parent.glob("*.css"):
        if sheet.name not in {"tokens.css", "print.css"}:
            assert not re.findall(r"#[0-9A-Fa-f]{3,8}\b(?=[;\s,)])", sheet.read_text(encoding="utf-8")), sheet.name
