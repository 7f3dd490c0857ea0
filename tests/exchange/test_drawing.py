"""Drawings: a picture for every kind, told apart by shape and colour."""

import io

import pytest
from PIL import Image

from catalog.exchange.drawing import draw_piece
from catalog.exchange.palette import colours_of, darker, lighter
from catalog.pieces.calc.kinds import KINDS


def drawn(kind: str, *materials: str, name: str = "", seed: str = "1") -> Image.Image:
    data = draw_piece(kind=kind, materials=materials, name=name, seed=seed)
    return Image.open(io.BytesIO(data)).convert("RGB")


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_has_its_own_outline(kind: str) -> None:
    picture = drawn(kind, "wool")
    assert picture.size == (640, 640)
    others = [drawn(other, "wool").tobytes() for other in KINDS if other != kind]
    assert picture.tobytes() not in others


def test_the_colour_is_the_materials() -> None:
    def middle(*materials: str) -> tuple[int, ...]:
        pixel = drawn("coat", *materials).getpixel((270, 430))
        assert isinstance(pixel, tuple)
        return pixel

    assert middle("leather") != middle("oiled cotton")
    red, green, blue = colours_of(["leather"])[0]
    assert all(abs(a - b) < 12 for a, b in zip(middle("leather"), (red, green, blue), strict=True))


def test_a_word_of_the_name_tells_props_apart() -> None:
    assert drawn("prop", "brass", name="hand lamp").tobytes() != drawn("prop", "brass", name="ledger").tobytes()
    assert drawn("hat", "wool", name="soft cap").tobytes() != drawn("hat", "wool", name="tall hat").tobytes()


def test_the_same_piece_is_drawn_the_same_twice() -> None:
    assert drawn("coat", "wool", seed="7").tobytes() == drawn("coat", "wool", seed="7").tobytes()
    assert drawn("coat", "wool", seed="7").tobytes() != drawn("coat", "wool", seed="8").tobytes()


def test_a_material_nobody_knows_is_neutral() -> None:
    assert colours_of([]) == colours_of(["unobtainium"])
    assert sum(darker((100, 100, 100), 0.5)) < 300 < sum(lighter((100, 100, 100), 0.5))
