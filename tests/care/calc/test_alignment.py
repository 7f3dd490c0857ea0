"""Laying one picture on another: known turns and shifts come back; against Pillow's and scipy's own transforms."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from catalog.care.calc.alignment import Placing, laid_on, likeness, place, texture

Plane = NDArray[np.float32]


def patch(seed: int, height: int = 200, width: int = 160) -> Plane:
    """A plane with texture at several grains, 0 to 255."""
    draw = np.random.default_rng(seed)
    plane = sum(ndimage.gaussian_filter(draw.normal(0, grain, (height, width)), grain) for grain in (1.0, 2.5, 6.0))
    plane = 120 + 45 * plane / plane.std()
    return np.clip(plane, 0, 255).astype(np.float32)


def farthest(one: Placing, other: Placing, shape: tuple[int, int]) -> float:
    """The largest distance, in pixels, between where the two put a corner."""
    corners = [(x, y) for x in (0, shape[1] - 1) for y in (0, shape[0] - 1)]
    return max(
        float(np.hypot(*np.subtract(one.point(*at, shape, shape), other.point(*at, shape, shape)))) for at in corners
    )


@pytest.mark.parametrize(
    ("true", "most"),
    [
        (Placing(), 0.05),
        (Placing(7.0, -4.0), 0.1),
        (Placing(0.5, 0.25), 0.1),
        (Placing(0, 0, 5.0), 0.2),
        (Placing(0, 0, -5.0), 0.2),
        (Placing(-9.0, 6.0, 3.3, 1.03), 0.3),
        (Placing(4.0, 8.0, -2.2, 0.96), 0.3),
    ],
)
def test_a_known_placing_comes_back(true: Placing, most: float) -> None:
    first = patch(3)
    # What the second must look like for `true` to lay it back on the first: the inverse, worked out by matrices.
    matrix, offset = true.mapping((200, 160), (200, 160))
    back = np.linalg.inv(matrix)
    second = ndimage.affine_transform(first, back, -back @ offset, order=3, mode="nearest")
    assert farthest(place(first, second), true, (200, 160)) < most


@pytest.mark.parametrize("turned", [-5.0, -1.7, 0.6, 4.4])
def test_a_turn_made_by_pillow_is_found(turned: float) -> None:
    """Outside check: Pillow's Image.rotate (counter-clockwise, about the middle, bicubic) made the second picture."""
    first = patch(5, 220, 220)
    second = np.asarray(Image.fromarray(first).rotate(turned, Image.Resampling.BICUBIC, fillcolor=120))
    found = place(first, second)
    assert found.turned == pytest.approx(-turned, abs=0.05)
    assert found.scale == pytest.approx(1, abs=0.002)
    assert farthest(found, Placing(turned=-turned), (220, 220)) < 0.6


@pytest.mark.parametrize("turned", [-4.0, 2.5])
def test_a_turn_made_by_scipy_is_found(turned: float) -> None:
    """Outside check: scipy.ndimage.rotate, which has its own arithmetic for the middle."""
    first = patch(6, 201, 201)
    second = ndimage.rotate(first, turned, reshape=False, order=3, mode="nearest")
    assert abs(place(first, second).turned) == pytest.approx(abs(turned), abs=0.05)
    assert likeness(first, second, place(first, second), block=24)[0] >= 95


@pytest.mark.parametrize(
    "relight",
    [
        lambda plane, x, y: plane * 0.7 + 20,
        lambda plane, x, y: plane * (1 + 0.35 * x - 0.2 * y),
        lambda plane, x, y: 255 * np.clip(plane / 255, 0, 1) ** 1.4,
    ],
)
def test_other_light_does_not_move_it(relight: object) -> None:
    first, true = patch(8), Placing(5, -3, 2.0)
    matrix, offset = true.mapping((200, 160), (200, 160))
    back = np.linalg.inv(matrix)
    second = ndimage.affine_transform(first, back, -back @ offset, order=3, mode="nearest")
    y, x = np.mgrid[-1:1:200j, -1:1:160j]
    lit = np.clip(relight(second, x, y), 0, 255).astype(np.float32)  # type: ignore[operator]
    assert farthest(place(first, lit), true, (200, 160)) < 0.5


def test_likeness_tells_the_same_from_another() -> None:
    first, other = patch(11, 320, 320), patch(12, 320, 320)
    assert likeness(first, first, Placing()) == (100, 100)
    percent, compared = likeness(first, other, place(first, other))
    assert percent < 20
    assert compared > 50
    assert likeness(np.full((320, 320), 90, np.float32), first, Placing()) == (0, 0), (
        "nothing to see counts for nothing"
    )


def test_what_lies_outside_is_known_to_be_outside() -> None:
    moved, inside = laid_on(patch(1), Placing(shift_x=20), (200, 160))
    assert moved.shape == inside.shape == (200, 160)
    assert inside[:, :139].all()
    assert not inside[:, 141:].any()


def test_too_small_a_picture_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 32 pixels"):
        place(patch(1), np.zeros((200, 31), np.float32))


@settings(max_examples=30, deadline=None)
@given(
    st.floats(-30, 30), st.floats(-30, 30), st.floats(-8, 8), st.floats(0.9, 1.1), st.floats(0, 159), st.floats(0, 199)
)
def test_a_placing_keeps_distances_up_to_its_scale(
    dx: float, dy: float, turned: float, scale: float, x: float, y: float
) -> None:
    one = Placing(dx, dy, turned, scale)
    here, there = one.point(x, y, (200, 160), (200, 160)), one.point(79.5, 99.5, (200, 160), (200, 160))
    assert np.hypot(here[0] - there[0], here[1] - there[1]) == pytest.approx(
        scale * np.hypot(x - 79.5, y - 99.5), abs=1e-6
    )
    assert there == pytest.approx((79.5 + dx, 99.5 + dy))


def test_texture_forgets_the_lamp() -> None:
    plane = patch(2)
    darker = plane * 0.6 + 10
    assert np.abs(texture(plane) - texture(darker)).mean() < 0.05
