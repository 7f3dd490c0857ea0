"""Whom a store can dress, before anybody is cast: over heights and weights, how many complete outfits would fit.

A height and a weight leave a body open. So the question is put to the same 512 equally likely bodies as every fit: in
how many of them so many outfits can be made up at once. The answer of a point is the number that half of them reach.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from catalog.fitting.calc.body import BMI_RANGE, Body, Layer, Measure, Person, Shape, body_of
from catalog.fitting.calc.draws import Counts, Mask, marked, nobody
from catalog.fitting.calc.exclusions import ExclusionRule
from catalog.fitting.calc.fit import Candidate, judge
from catalog.fitting.calc.plan_types import PlanError, PlanPiece, Role

SHARE = 0.5  # of the bodies of one height and weight


@dataclass(frozen=True, slots=True)
class Stock:
    """A piece as the planner sees it (slot, set, match values) and as the fit sees it (bands, measures)."""

    piece: PlanPiece
    candidate: Candidate


@dataclass(frozen=True, slots=True)
class Point:
    """One height (mm) and weight (g). None: outside the survey, so nothing is said.

    outfits: complete outfits from all pieces, made up at once, that fit such a body. whole: original sets that fit.
    chance: the share of such bodies, 0 to 1, that any outfit fits.
    """

    height_mm: int
    weight_g: int
    outfits: int | None
    whole: int | None
    chance: float | None


@dataclass(frozen=True, slots=True)
class Outfits:
    """For one body: complete outfits at once, whole original sets, and how likely it is that any outfit fits."""

    outfits: int
    whole: int
    chance: float


def dressable(
    role: Role,
    stock: Sequence[Stock],
    *,
    heights_mm: Sequence[int],
    weights_g: Sequence[int],
    shape: Shape = Shape.EITHER,
    share: float = SHARE,
) -> tuple[Point, ...]:
    """Every height with every weight, the tallest column last, the lightest row first.

    A piece whose measures or bands are not known fits nobody here. Raises PlanError when a slot stands in two match
    groups. `share` is how many of the bodies of a point must reach a number for it to be said, 0 to 1.
    """
    for slot in role.slots:
        if len(role.groups_of(slot)) > 1:
            raise PlanError(f"The slot {slot} of {role.code} stands in two match groups.")
    return tuple(
        point_of(role, stock, height_mm=height, weight_g=weight, shape=shape, share=share)
        for weight in weights_g
        for height in heights_mm
    )


def point_of(
    role: Role, stock: Sequence[Stock], *, height_mm: int, weight_g: int, shape: Shape, share: float = SHARE
) -> Point:
    """The answer for one height and weight."""
    if not surveyed(height_mm, weight_g, shape):
        return Point(height_mm, weight_g, None, None, None)
    measures = (Measure("height", height_mm, Layer.TAPED), Measure("weight", weight_g, Layer.TAPED))
    found = outfits_on(role, stock, body_of(Person(measures, shape)), share=share)
    return Point(height_mm, weight_g, found.outfits, found.whole, found.chance)


def surveyed(height_mm: int, weight_g: int, shape: Shape) -> bool:
    """Whether such a body occurs in the survey at all, by weight for height."""
    bmi = weight_g / 1000 / (height_mm / 1000) ** 2
    shapes = list(BMI_RANGE) if shape is Shape.EITHER else [shape.value]
    return min(BMI_RANGE[s][0] for s in shapes) <= bmi <= max(BMI_RANGE[s][1] for s in shapes)


def outfits_on(
    role: Role,
    stock: Sequence[Stock],
    body: Body,
    *,
    share: float = SHARE,
    rules: Sequence[ExclusionRule] = (),
) -> Outfits:
    """Outfits, and whole original sets, that at least `share` of the possible bodies reach, exclusions kept.

    A piece whose match value is not known goes with nothing.
    """
    rows = [row for row in stock if row.piece.slot in role.slots and row.piece.matchable(role)]
    masks = [_fitting(body, row.candidate, rules) for row in rows]
    pieces, size = [row.piece for row in rows], body.count
    whole = np.zeros(size, dtype=np.int64)
    for code in sorted({piece.set_code for piece in pieces if piece.set_code is not None}):
        own = [number for number, piece in enumerate(pieces) if piece.set_code == code]
        whole += np.minimum(1, _outfits(role, [pieces[n] for n in own], [masks[n] for n in own], size))
    outfits = _outfits(role, pieces, masks, size)
    return Outfits(_reached(outfits, share), _reached(whole, share), float((outfits > 0).mean()))


def _fitting(body: Body, piece: Candidate, rules: Sequence[ExclusionRule]) -> Mask:
    """Which of the possible bodies the piece fits, as the fit judges it; unmeasured or unclear fits none."""
    found, inside = judge(body, piece, rules)
    return marked(nobody(body.count) if found.probability is None else inside, body.count)


def _outfits(role: Role, pieces: Sequence[PlanPiece], masks: Sequence[Mask], size: int) -> Counts:
    """Per body the most outfits: the scarcest slot decides, and slots of a match group meet value by value.

    Exact because every slot stands in one group at most (then each group is a choice of its own).
    """
    if not role.slots:
        return np.zeros(size, dtype=np.int64)
    grouped = {slot for group in role.groups for slot in group.slots}
    bounds = [_have(pieces, masks, slot, None, "", size) for slot in role.slots if slot not in grouped]
    for group in role.groups:
        values = sorted({piece.values[group.name] for piece in pieces if piece.slot in group.slots})
        pairs = np.zeros(size, dtype=np.int64)
        for value in values:
            have = [_have(pieces, masks, slot, group.name, value, size) for slot in group.slots]
            pairs += np.minimum.reduce(have)
        bounds.append(pairs)
    scarcest: Counts = np.minimum.reduce(bounds)
    return scarcest


def _have(
    pieces: Sequence[PlanPiece], masks: Sequence[Mask], slot: str, group: str | None, value: str, size: int
) -> Counts:
    """Per body how many pieces of the slot (with this match value) fit."""
    found = np.zeros(size, dtype=np.int64)
    for piece, mask in zip(pieces, masks, strict=True):
        if piece.slot == slot and (group is None or piece.values.get(group) == value):
            found += mask
    return found


def _reached(counts: Counts, share: float) -> int:
    """The largest number that at least this share of the bodies reaches."""
    ordered = np.sort(counts)[::-1]
    return int(ordered[max(0, int(np.ceil(share * len(ordered))) - 1)])
