"""Kinds of pieces, and for each kind the points to measure, in the order they are taken.

Names of points follow costume practice (common practice, no source) and, where they name the same place, ISO 8559-1.
Garment girths are the full round: a flat half-girth is doubled before it is stored.
"""

from dataclasses import dataclass
from typing import Literal

from catalog.core.units import MM_PER, LengthUnit

Shown = Literal["length", "eu_shoe", "glove_inch"]


@dataclass(frozen=True, slots=True)
class Point:
    """Where a piece is measured: its word, how it is taken, and how the number is shown.

    `low_mm` and `high_mm` bound what can be true; outside them a number was mistyped.
    """

    key: str
    word: str
    how: str
    low_mm: int
    high_mm: int
    shown: Shown = "length"
    let_out: bool = False


POINTS: dict[str, Point] = {
    point.key: point
    for point in (
        Point("chest", "chest, all round", "closed, at the underarm, flat and doubled", 400, 2500, let_out=True),
        Point("waist", "waist, all round", "closed, at the narrowest line, flat and doubled", 350, 2500, let_out=True),
        Point("seat", "seat, all round", "at the widest line, flat and doubled", 400, 2600, let_out=True),
        Point("hem", "hem, all round", "flat and doubled", 200, 12000),
        Point("across_back", "across back", "armhole seam to armhole seam", 150, 900),
        Point("shoulder", "shoulder seam", "neck side to sleeve head", 40, 350),
        Point("sleeve", "sleeve from shoulder", "sleeve head to cuff", 150, 1100, let_out=True),
        Point("sleeve_cb", "sleeve from centre back", "nape to cuff over the shoulder", 300, 1300, let_out=True),
        Point("back_length", "back length", "nape to hem", 200, 2000, let_out=True),
        Point("collar", "collar", "button to the middle of the buttonhole", 250, 650),
        Point("neck", "neck opening, all round", "inside, closed", 250, 1000),
        Point("rise_front", "front rise", "crotch to waist edge", 150, 600),
        Point("inside_leg", "inside leg", "crotch to hem", 200, 1200, let_out=True),
        Point("outside_leg", "outside leg", "waist edge to hem", 300, 1500, let_out=True),
        Point("thigh", "thigh, all round", "at the crotch, flat and doubled", 250, 1300),
        Point("trunk_loop", "trunk loop", "shoulder through the legs and back", 1000, 2500),
        Point("height_min", "shortest wearer", "body height the piece is cut for, from", 900, 2300),
        Point("height_max", "tallest wearer", "body height the piece is cut for, to", 900, 2300),
        Point("waist_min", "shortest setting", "inside, on the tightest hole", 350, 2500),
        Point("waist_max", "longest setting", "inside, on the last hole", 350, 2500),
        Point("length", "length", "longest line", 50, 6000),
        Point("sweep", "sweep", "hem edge to edge, opened flat", 300, 12000),
        Point("inside_height", "inside height", "inside, top to bottom edge", 100, 1200),
        Point("head", "inside round", "inside, at the head band, without pads", 450, 800),
        Point("front_back", "front to back", "inside, at the head band", 120, 350),
        Point("left_right", "left to right", "inside, at the head band", 100, 350),
        Point("neck_opening", "neck opening", "inside round of the lower edge", 300, 1200),
        Point("shoe_eu", "marked size, EU", "as stamped; a Paris point is 2/3 cm of last length", 150, 380, "eu_shoe"),
        Point("inside_length", "inside length", "with a stick, heel to toe", 150, 380),
        Point("ball_width", "ball width", "sole, at the widest", 50, 160),
        Point("shaft_height", "shaft height", "heel seat to top edge", 50, 900),
        Point(
            "palm", "hand it is made for, round", "marked glove size, in inches round the hand", 130, 330, "glove_inch"
        ),
        Point("finger", "middle finger", "tip to base", 40, 150),
        Point("cuff", "cuff opening, all round", "flat and doubled", 120, 700),
        Point("width", "width", "widest line", 5, 12000),
        Point("depth", "depth", "front to back", 5, 12000),
    )
}


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of piece: its word and points, whether it is a pair, where its tag goes, the drawing of its points."""

    key: str
    word: str
    points: tuple[str, ...]
    drawing: str
    pair: bool = False
    tag_at: str = "tied to the hanger loop"
    worn: bool = True


KINDS: dict[str, Kind] = {
    kind.key: kind
    for kind in (
        Kind(
            "coat",
            "coat, jacket, tunic",
            ("chest", "waist", "hem", "across_back", "shoulder", "sleeve", "sleeve_cb", "back_length"),
            "coat",
            tag_at="inside centre-back neck",
        ),
        Kind(
            "waistcoat",
            "waistcoat, bodice",
            ("chest", "waist", "back_length", "shoulder"),
            "coat",
            tag_at="inside centre-back neck",
        ),
        Kind(
            "shirt",
            "shirt, blouse",
            ("collar", "chest", "sleeve_cb", "back_length"),
            "shirt",
            tag_at="inside collar stand",
        ),
        Kind(
            "gown",
            "gown, robe, dress",
            ("chest", "waist", "seat", "sleeve_cb", "back_length", "hem"),
            "coat",
            tag_at="inside left waist seam",
        ),
        Kind(
            "trousers",
            "trousers, breeches",
            ("waist", "seat", "rise_front", "inside_leg", "outside_leg", "thigh", "hem", "height_min", "height_max"),
            "trousers",
            tag_at="inside left waistband",
        ),
        Kind(
            "suit",
            "one-piece suit",
            ("chest", "waist", "seat", "trunk_loop", "inside_leg", "sleeve_cb", "height_min", "height_max"),
            "suit",
            tag_at="inside centre-back neck",
        ),
        Kind("knit", "knitted piece", ("chest", "length", "sleeve"), "knit", tag_at="inside left side seam"),
        Kind(
            "stiff",
            "stiff body piece",
            ("chest", "waist", "inside_height", "neck_opening"),
            "stiff",
            tag_at="tied to the left strap",
        ),
        Kind(
            "helmet",
            "helmet, mask, closed headgear",
            ("head", "front_back", "left_right", "neck_opening"),
            "helmet",
            tag_at="tied inside, left",
        ),
        Kind("hat", "hat, cap", ("head",), "hat", tag_at="inside the head band"),
        Kind(
            "boots",
            "boots, shoes",
            ("shoe_eu", "inside_length", "ball_width", "shaft_height"),
            "boots",
            pair=True,
            tag_at="left tongue or loop",
        ),
        Kind("gloves", "gloves, gauntlets", ("palm", "finger", "cuff"), "gloves", pair=True, tag_at="inside left cuff"),
        Kind("belt", "belt, harness, sash", ("waist_min", "waist_max", "width"), "belt", tag_at="tied to the buckle"),
        Kind(
            "cloak",
            "cloak, mantle, cape",
            ("neck", "length", "sweep", "chest"),
            "cloak",
            tag_at="inside centre-back neck",
        ),
        Kind("jewel", "chain, jewel, crown", ("length", "width"), "prop", tag_at="tied on"),
        Kind("creature", "creature part, worn", ("head", "chest", "length"), "suit", tag_at="tied to the frame"),
        Kind(
            "puppet",
            "puppet, worked figure",
            ("length", "width", "depth"),
            "prop",
            tag_at="tied to the stand",
            worn=False,
        ),
        Kind("model", "scale model", ("length", "width", "depth"), "prop", tag_at="on the base", worn=False),
        Kind("prop", "hand prop", ("length", "width"), "prop", tag_at="tied on", worn=False),
        Kind("weapon", "prop weapon", ("length", "width"), "prop", tag_at="tied to the grip", worn=False),
        Kind("dressing", "set dressing", ("length", "width", "depth"), "prop", tag_at="underneath", worn=False),
        Kind("other", "other", ("length", "width"), "prop", worn=False),
    )
}


def bare_word(point: Point) -> str:
    """The point's word before a value that names its own system: "marked size" before "EU 42"."""
    return point.word.removesuffix(", EU")


def marked(point: Point, value_mm: int) -> str:
    """A marked size in its own system: "EU 42", "8.5 in"."""
    return f"EU {eu_of_mm(value_mm):g}" if point.shown == "eu_shoe" else f"{inch_of_mm(value_mm):g} in"


def impossible(point_key: str, value_mm: int, unit: LengthUnit = "cm") -> str | None:
    """A sentence when a measure cannot be true for its point, in the unit it was typed in; else None."""
    point = POINTS.get(point_key)
    if point is None:
        return f"“{point_key}” is no point we measure."
    if point.low_mm <= value_mm <= point.high_mm:
        return None
    values = (value_mm, point.low_mm, point.high_mm)
    if point.shown == "length":
        typed, low, high = (f"{round(float(mm / MM_PER[unit]), 1):g}" for mm in values)
        typed, high = f"{typed} {unit}", f"{high} {unit}"
    else:
        typed, low, high = (marked(point, mm) for mm in values)
    word = bare_word(point)
    return f"{word[:1].upper()}{word[1:]}: {typed} cannot be right; it lies between {low} and {high}."


def eu_of_mm(last_mm: int) -> float:
    """The EU shoe size, to the half, of a last length: one Paris point is 20/3 mm (ISO/TS 19407:2015)."""
    return round(last_mm * 3 / 20 * 2) / 2


def mm_of_eu(size: float) -> int:
    """The last length in mm that stores an EU shoe size."""
    return round(size * 20 / 3)


def inch_of_mm(girth_mm: int) -> float:
    """A glove size: the hand's girth in inches, to the half (the size system of EN 420:2003 counts the same way)."""
    return round(girth_mm / 25.4 * 2) / 2
