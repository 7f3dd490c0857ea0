"""What looks different between two photographs: planted marks are found, clean pairs stay clean, and unknown is said.

The goals: 9 of 10 planted marks, fewer than 1 clean pair in 10 with a false alarm, every alignment within 3 pixels of
a picture of 1,280. The seeds here were not used for choosing the limits. Measured once at 1,280 pixels, seeds 300 to
324: "fresh" 75 of 75 marks, no false alarm in 25 clean pairs, no corner off by more than 0.13 pixels; "tried" 69 of 69,
none in 25, 0.12. Drawn garments do not move their folds between two photographs, real ones do: expect more to be
outlined there.
"""

from functools import lru_cache
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from catalog.care.calc.alignment import Placing
from catalog.care.calc.differences import Compared, Photo, Region, compare
from catalog.care.calc.relighting import relit, spread
from tests.care.calc.garments import Family, Pair, pair

# Half the size at which the measurement of the goals was made; the marks shrink with it.
LONGEST = 480


@lru_cache
def seen(seed: int, marks: int, family: Family) -> tuple[Pair, Compared]:
    made = pair(seed, marks=marks, family=family, longest=LONGEST)
    return made, compare(made.out, made.back)


def covers(region: Region, box: tuple[float, float, float, float], made: Pair) -> bool:
    height, width = made.out.shape[:2]
    left, right, top, bottom = (edge / 1000 for edge in (region.left, region.right, region.top, region.bottom))
    return (
        left * width < box[2] + 4
        and right * width > box[0] - 4
        and top * height < box[3] + 4
        and bottom * height > box[1] - 4
    )


CASES = [(seed, marks, family) for family in ("tried", "fresh") for seed in (901, 902) for marks in (0, 3)]


def test_the_goals_hold_on_seeded_pairs() -> None:
    planted = found = 0
    for seed, marks, family in CASES:
        made, said = seen(seed, marks, family)  # type: ignore[arg-type]
        assert said.aligned, (seed, family, said.aligned_percent)
        assert off(made, said) * 1280 / LONGEST < 3
        planted += len(made.marks)
        found += sum(any(covers(region, box, made) for region in said.regions) for box in made.marks)
    assert planted >= 9
    assert found >= 0.9 * planted
    false = sum(bool(seen(seed, marks, family)[1].regions) for seed, marks, family in CASES if not marks)  # type: ignore[arg-type]
    assert false == 0, "of four clean pairs, fewer than one in ten is none"


def off(made: Pair, said: Compared) -> float:
    """The largest distance at a corner between the found placing and the true one."""
    shape, true = made.out.shape[:2], Placing(*made.shift, made.turned, made.scale)
    corners = [(x, y) for x in (0, shape[1] - 1) for y in (0, shape[0] - 1)]
    return max(
        float(np.hypot(*np.subtract(said.placing.point(*at, shape, shape), true.point(*at, shape, shape))))
        for at in corners
    )


def test_another_garment_cannot_be_aligned() -> None:
    one, _ = seen(901, 0, "tried")
    other = pair(77, marks=0, family="fresh", longest=LONGEST)
    said = compare(one.out, other.back)
    assert not said.aligned
    assert said.regions == ()
    assert said.unknown_percent == 100
    assert said.sentence.startswith(f"The pictures could not be aligned: {said.aligned_percent} % of them agree.")


def test_nothing_to_see_is_not_the_same() -> None:
    plain = np.full((300, 240, 3), 140, np.uint8)
    said = compare(plain, plain)
    assert not said.aligned
    assert "could not be aligned" in said.sentence


def test_what_the_second_does_not_show_is_unknown() -> None:
    made, _ = seen(901, 0, "tried")
    shape = made.out.shape
    cut = np.full_like(made.out, 255)
    cut[:, : shape[1] * 3 // 4] = made.out[:, : shape[1] * 3 // 4]
    said = compare(made.out, cut)
    assert said.aligned
    assert 20 < said.unknown_percent < 40
    assert f"{said.unknown_percent} % of the picture could not be compared" in said.sentence


def test_a_picture_is_the_same_as_itself() -> None:
    made, _ = seen(902, 0, "tried")
    said = compare(made.out, made.out)
    assert said.regions == ()
    assert said.sentence.startswith("No difference stands out")


def test_a_stain_of_the_same_lightness_shows_by_its_colour() -> None:
    made, _ = seen(902, 0, "tried")
    stained = made.out.astype(float)
    y, x = np.mgrid[: stained.shape[0], : stained.shape[1]]
    spot = np.exp(-(((x - 180) ** 2 + (y - 230) ** 2) / 110))[..., None]
    # 0.299 red + 0.587 green stays the same, by the weights of ITU-R BT.601.
    stained += spot * np.array([58.7, -29.9, 0.0])
    said = compare(made.out, saved(np.clip(stained, 0, 255).astype(np.uint8)))
    assert len(said.regions) == 1
    assert said.regions[0].left < 1000 * 180 / stained.shape[1] < said.regions[0].right


def saved(photo: Photo) -> Photo:
    stream = BytesIO()
    Image.fromarray(photo).save(stream, "JPEG", quality=90)
    return np.asarray(Image.open(stream))


@pytest.mark.parametrize(
    ("box", "words"),
    [
        ((50, 50, 150, 150), "upper left of the picture"),
        ((450, 20, 550, 90), "upper middle of the picture"),
        ((900, 450, 960, 550), "middle right of the picture"),
        ((450, 450, 550, 550), "middle of the picture"),
        ((450, 900, 550, 990), "lower middle of the picture"),
        ((0, 900, 100, 1000), "lower left of the picture"),
        ((0, 450, 100, 550), "middle left of the picture"),
    ],
)
def test_where_is_said_in_thirds(box: tuple[int, int, int, int], words: str) -> None:
    assert Region(*box, 20, 12.0).where == words


def test_light_is_fitted_around_a_mark_and_not_into_it() -> None:
    made, _ = seen(903, 0, "fresh")
    first = made.out[..., 1].astype(np.float32)
    y, x = np.mgrid[-1 : 1 : first.shape[0] * 1j, -1 : 1 : first.shape[1] * 1j]
    second = (first * (0.85 + 0.15 * x - 0.1 * y * y) + 9).astype(np.float32)
    second[200:225, 200:225] -= 50
    left = second - relit(first, second, np.ones(first.shape, bool))
    assert spread(left.ravel()) < 0.5
    assert float(left[203:222, 203:222].mean()) == pytest.approx(-50, abs=3)
