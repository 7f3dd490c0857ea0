"""The look of a picture in 64 bits: by hand on a drawn ramp, against a plain loop, and what it bears."""

import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageEnhance

from catalog.core.looks import ALIKE, BITS, dhash, differing, tells_something

SIGNED = st.integers(-(2**63), 2**63 - 1)


def jpeg(picture: Image.Image, quality: int = 90) -> bytes:
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=quality)
    return stream.getvalue()


def drawn(seed: int, size: tuple[int, int] = (256, 320)) -> Image.Image:
    """Some blots on a ground, the same for the same seed at any size."""
    rng = np.random.default_rng(seed)
    picture = Image.new("RGB", size, "white")
    pen = ImageDraw.Draw(picture)
    for _ in range(9):
        x, y, r = rng.random(3)
        box = (x * size[0], y * size[1], (x + 0.1 + 0.4 * r) * size[0], (y + 0.1 + 0.3 * r) * size[1])
        pen.ellipse(box, fill=tuple(int(v) for v in rng.integers(0, 255, 3)))
    return picture


def test_a_ramp_is_all_ones_and_turned_round_all_noughts() -> None:
    ramp = Image.fromarray(np.tile(np.arange(0, 256, dtype=np.uint8), (64, 1)))
    assert dhash(jpeg(ramp)) == -1, "64 ones, read as a signed number"
    assert dhash(jpeg(ramp.transpose(Image.Transpose.FLIP_LEFT_RIGHT))) == 0
    assert differing(-1, [0, -1, 1]) == [64, 0, 63]
    assert not tells_something(-1)
    assert not tells_something(None)


@given(SIGNED, st.lists(SIGNED, min_size=1, max_size=20))
def test_differing_bits_are_those_of_a_plain_loop(one: int, others: list[int]) -> None:
    mask = 2**BITS - 1
    assert differing(one, others) == [((one ^ other) & mask).bit_count() for other in others]


@pytest.mark.parametrize("seed", range(5))
def test_it_bears_size_light_and_saving_and_not_another_picture(seed: int) -> None:
    first = dhash(jpeg(drawn(seed)))
    assert tells_something(first)
    smaller = drawn(seed).resize((160, 200))
    lighter = ImageEnhance.Brightness(drawn(seed)).enhance(0.85)
    others = [dhash(jpeg(one)) for one in (smaller, lighter)] + [dhash(jpeg(drawn(seed), quality=40))]
    assert max(differing(first, others)) <= ALIKE
    strangers = [dhash(jpeg(drawn(other))) for other in range(20, 30)]
    assert min(differing(first, strangers)) > ALIKE


def test_an_even_picture_tells_nothing() -> None:
    assert not tells_something(dhash(jpeg(Image.new("RGB", (320, 320), "grey"))))
