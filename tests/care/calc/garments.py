"""Drawn garments for the comparison of two photographs: cloth, seams, buttons, folds; and a second photograph of each,
shifted, turned, relit, noisy and saved as JPEG, with or without marks. Everything comes from a seed.

Two families. "tried" is what the thresholds were chosen on; "fresh" has other cloths, shapes and lamps, and was only
measured.
"""

import io
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter
from scipy import ndimage

Family = Literal["tried", "fresh"]
Photo = NDArray[np.uint8]


@dataclass(frozen=True)
class Pair:
    """Two photographs of one thing, the true placing (pixels of this size), and the boxes of the planted marks."""

    out: Photo
    back: Photo
    shift: tuple[float, float]
    turned: float
    scale: float
    marks: tuple[tuple[float, float, float, float], ...]
    kinds: tuple[str, ...]


def pair(seed: int, *, marks: int, family: Family = "tried", longest: int = 1280, relit: float = 1.0) -> Pair:
    """One pair; `marks` are planted on the second photograph, with their boxes (x0, y0, x1, y1) in the first."""
    draw = np.random.default_rng([seed, 0 if family == "tried" else 1])
    width, height = (longest, longest * 3 // 4) if draw.random() < 0.4 else (longest * 3 // 4, longest)
    plain, body, buttons = _garment(draw, width, height, family)
    marked, boxes, kinds = _marked(draw, plain, body, buttons, marks)
    turned, scale = float(draw.uniform(-5, 5)), float(draw.uniform(0.98, 1.02))
    shift = tuple(float(one) for one in draw.uniform(-0.04, 0.04, 2) * longest)
    moved = _moved(marked, shift[0], shift[1], turned, scale)
    out = _photographed(draw, plain, 0.0)
    back = _photographed(draw, moved, relit)
    return Pair(out, back, (shift[0], shift[1]), turned, scale, tuple(boxes), tuple(kinds))


def _garment(
    draw: np.random.Generator, width: int, height: int, family: Family
) -> tuple[Image.Image, Image.Image, list]:
    size = (width, height)
    ground = np.full((height, width, 3), draw.uniform(150, 225, 3) * 0.3 + draw.uniform(150, 215) * 0.7)
    ground += _rough(draw, height, width, 40)[..., None] * 5 + draw.normal(0, 2, (height, width, 1))
    cloth = _cloth(draw, height, width, family)
    shape = Image.new("L", size, 0)
    outline = _outline(draw, width, height, family)
    ImageDraw.Draw(shape).polygon(outline, fill=255)
    mask = np.asarray(shape.filter(ImageFilter.GaussianBlur(1.2)), float)[..., None] / 255
    picture = Image.fromarray(np.clip(ground * (1 - mask) + cloth * mask, 0, 255).astype(np.uint8))
    pen = ImageDraw.Draw(picture)
    dark = tuple(int(one) for one in np.clip(cloth.mean((0, 1)) * 0.55, 0, 255))
    thick = max(1, width // 400)
    pen.line([*outline, outline[0]], fill=dark, width=thick * 2)
    for _ in range(int(draw.integers(2, 5))):
        x = draw.uniform(0.3, 0.7) * width
        pen.line([(x, 0.2 * height), (x + draw.normal(0, 0.04) * width, 0.9 * height)], fill=dark, width=thick)
    buttons = []
    radius, x = 0.012 * max(size), width * draw.uniform(0.45, 0.55)
    light = tuple(int(one) for one in np.clip(cloth.mean((0, 1)) + draw.choice([-70, 80]), 10, 245))
    for n in range(int(draw.integers(3, 6))):
        y = height * (0.28 + 0.12 * n)
        pen.ellipse([x - radius, y - radius, x + radius, y + radius], fill=light, outline=dark, width=thick)
        buttons.append((x, y, radius))
    return picture, shape, buttons


def _cloth(draw: np.random.Generator, height: int, width: int, family: Family) -> NDArray[np.float64]:
    y, x = np.mgrid[:height, :width].astype(float)
    unit = max(height, width) / 1280
    colour, other = draw.uniform(45, 190, 3), draw.uniform(40, 200, 3)
    if family == "tried":
        step = draw.uniform(9, 40) * unit
        lines = [np.zeros_like(x), np.sin(2 * np.pi * x / step), np.sin(2 * np.pi * (x + y) / step)]
        pattern = lines[int(draw.integers(0, 3))] * 0.25
    else:
        step = draw.uniform(14, 60) * unit
        checks = ((x // step + y // step) % 2) - 0.5
        bone = np.sin(2 * np.pi * (y + np.abs((x % (2 * step)) - step)) / (step / 2))
        knit = np.abs(np.sin(np.pi * x / (step / 3))) * np.sin(2 * np.pi * (y / (step / 3)))
        blots = (_rough(draw, height, width, 24 * unit) > 0.5) * 1.0
        pattern = [checks, bone * 0.5, knit * 0.5, blots][int(draw.integers(0, 4))] * 0.4
    cloth = colour + (other - colour) * (pattern[..., None] + 0.1)
    folds = np.zeros_like(x)
    for _ in range(int(draw.integers(3, 8))):
        angle, at = draw.uniform(-0.5, 0.5), draw.uniform(0.2, 0.8) * width
        wide = draw.uniform(10, 35) * unit
        folds += draw.uniform(-0.25, 0.25) * np.exp(
            -((((x - at) * np.cos(angle) + (y - height / 2) * np.sin(angle)) / wide) ** 2)
        )
    weave = ndimage.gaussian_filter(draw.normal(0, 1, (height, width)), 0.8)
    cloth = cloth * (1 + folds + 0.04 * _rough(draw, height, width, 18 * unit))[..., None]
    return cloth + (weave * draw.uniform(5, 14) / max(weave.std(), 1e-6))[..., None]


def _outline(draw: np.random.Generator, width: int, height: int, family: Family) -> list[tuple[float, float]]:
    if family == "tried":
        points = [
            (0.4, 0.1), (0.6, 0.1), (0.72, 0.16), (0.88, 0.55), (0.78, 0.6), (0.7, 0.4),
            (0.74, 0.93), (0.26, 0.93), (0.3, 0.4), (0.22, 0.6), (0.12, 0.55), (0.28, 0.16),
        ]  # fmt: skip
    else:
        points = [(0.36, 0.08), (0.64, 0.08), (0.66, 0.5), (0.9, 0.78), (0.88, 0.92), (0.3, 0.92), (0.28, 0.5)]
    jitter = draw.normal(0, 0.012, (len(points), 2))
    return [((px + jx) * width, (py + jy) * height) for (px, py), (jx, jy) in zip(points, jitter, strict=True)]


def _rough(draw: np.random.Generator, height: int, width: int, grain: float) -> NDArray[np.float64]:
    small = draw.normal(0, 1, (max(2, int(height / grain)), max(2, int(width / grain)))).astype(np.float32)
    return np.asarray(Image.fromarray(small).resize((width, height), Image.Resampling.BICUBIC), float)


def _marked(
    draw: np.random.Generator, plain: Image.Image, body: Image.Image, buttons: list, count: int
) -> tuple[Image.Image, list, list]:
    picture, boxes, kinds = plain.copy(), [], []
    inside = np.asarray(body.filter(ImageFilter.MinFilter(9)).resize(body.size)) > 0
    unit = max(plain.size) / 1280
    while len(boxes) < count:
        kind = str(draw.choice(["stain", "tear", "scuff", "button"]))
        if kind == "button":
            x, y, r = buttons[int(draw.integers(0, len(buttons)))]
            box = (x - 1.3 * r, y - 1.3 * r, x + 1.3 * r, y + 1.3 * r)
        else:
            r = draw.uniform(13, 32) * unit
            x, y = draw.uniform(0.2, 0.8) * plain.width, draw.uniform(0.15, 0.88) * plain.height
            if not inside[int(y), int(x)] or any(
                abs(x - bx) < r + 2 * br and abs(y - by) < r + 2 * br for bx, by, br in buttons
            ):
                continue
            box = (x - r, y - r, x + r, y + r)
        if any(
            box[0] < b[2] + 30 * unit
            and box[2] > b[0] - 30 * unit
            and box[1] < b[3] + 30 * unit
            and box[3] > b[1] - 30 * unit
            for b in boxes
        ):
            if kind == "button":
                count -= 1
            continue
        picture = _mark(draw, picture, kind, box, unit)
        boxes.append(box)
        kinds.append(kind)
    return picture, boxes, kinds


def _mark(
    draw: np.random.Generator, picture: Image.Image, kind: str, box: tuple[float, float, float, float], unit: float
) -> Image.Image:
    x0, y0, x1, y1 = box
    if kind == "button":
        width, height = int(x1 - x0), int(y1 - y0)
        patch = picture.crop((int(x0) + 2 * width, int(y0), int(x0) + 3 * width, int(y0) + height))
        done = picture.copy()
        done.paste(patch, (int(x0), int(y0)))
        return done
    spot = Image.new("L", picture.size, 0)
    pen = ImageDraw.Draw(spot)
    if kind == "tear":
        pen.line(
            [(x0, y0), ((x0 + x1) / 2 + 3 * unit, (y0 + y1) / 2), (x1, y1)],
            fill=255,
            width=max(2, round(draw.uniform(4, 7) * unit)),
        )
        deep, soft = 0.6, 0.6 * unit
    else:
        n = int(draw.integers(7, 12))
        around = np.linspace(0, 2 * np.pi, n, endpoint=False)
        reach = draw.uniform(0.6, 1.0, n) * (x1 - x0) / 2
        pen.polygon(
            [
                ((x0 + x1) / 2 + r * np.cos(a), (y0 + y1) / 2 + r * np.sin(a))
                for a, r in zip(around, reach, strict=True)
            ],
            fill=255,
        )
        deep, soft = draw.uniform(0.22, 0.45), draw.uniform(1, 3) * unit
    amount = np.asarray(spot.filter(ImageFilter.GaussianBlur(soft)), float)[..., None] / 255 * deep
    pixels = np.asarray(picture, float)
    tint = np.array([205.0, 200.0, 195.0]) if kind == "scuff" else draw.uniform(10, 60, 3)
    return Image.fromarray(np.clip(pixels * (1 - amount) + tint * amount, 0, 255).astype(np.uint8))


def _moved(picture: Image.Image, dx: float, dy: float, turned: float, scale: float) -> Image.Image:
    """Pillow's own affine transform, which is independent of the arithmetic under test."""
    a, b = np.cos(np.radians(turned)) / scale, np.sin(np.radians(turned)) / scale
    cx, cy = (picture.width - 1) / 2 + 0.5, (picture.height - 1) / 2 + 0.5
    inverse = (a, b, cx - a * (cx + dx) - b * (cy + dy), -b, a, cy + b * (cx + dx) - a * (cy + dy))
    ground = tuple(int(one) for one in np.asarray(picture)[:8].mean((0, 1)))
    return picture.transform(picture.size, Image.Transform.AFFINE, inverse, Image.Resampling.BICUBIC, fillcolor=ground)


def _photographed(draw: np.random.Generator, picture: Image.Image, relit: float) -> Photo:
    """Light falls unevenly, the exposure differs, the sensor is noisy and the file is a JPEG."""
    pixels = np.asarray(picture, float)
    height, width = pixels.shape[:2]
    y, x = np.mgrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j]
    field = 1 + relit * (
        draw.uniform(-0.2, 0.2) * x + draw.uniform(-0.2, 0.2) * y - draw.uniform(0, 0.1) * (x * x + y * y)
    )
    gain = 1 + relit * draw.uniform(-0.2, 0.15) + relit * draw.uniform(-0.04, 0.04, 3)
    lit = pixels * field[..., None] * gain + relit * draw.uniform(-8, 12)
    noisy = lit + draw.normal(0, draw.uniform(1.5, 3.5), pixels.shape)
    stream = io.BytesIO()
    Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8)).save(stream, "JPEG", quality=int(draw.integers(78, 93)))
    return np.asarray(Image.open(stream).convert("RGB"))
