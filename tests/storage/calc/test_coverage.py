"""How long ago things were seen, and rooms drawn to scale."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.storage.calc.coverage import Seen, age_words, oldest_first
from catalog.storage.calc.rooms_map import boxes

TODAY = date(2031, 3, 1)


def seen(*days: date | None) -> Seen:
    found = Seen()
    for day in days:
        found.add(day, TODAY)
    return found


def test_shares_are_cumulative_and_to_the_day() -> None:
    """Seen on the same day a year before is no longer within the year."""
    found = seen(date(2030, 3, 2), date(2030, 3, 1), date(2029, 3, 2), date(2026, 3, 2), date(2026, 3, 1), None)
    assert (found.things, found.within, found.never) == (6, [1, 3, 4], 1)
    assert found.shares == [16, 50, 66]
    assert found.oldest == date(2026, 3, 1)
    assert seen().shares == [None, None, None]


@pytest.mark.parametrize(
    ("days", "typical", "band"),
    [
        ([date(2031, 2, 1)], 28, 0),
        ([date(2029, 9, 1), date(2029, 9, 1), date(2031, 2, 28)], 546, 1),
        ([date(2027, 3, 1)], 1461, 2),
        ([date(2019, 3, 1)], 4383, 3),
        ([None, None, date(2031, 2, 1)], None, 3),
    ],
)
def test_the_band_follows_the_typical_age(days: list[date | None], typical: int | None, band: int) -> None:
    assert (seen(*days).typical_days, seen(*days).band) == (typical, band)


def test_ages_are_said_in_words() -> None:
    assert [age_words(days) for days in (0, 31, 400, 2000, None)] == [
        "less than a month",
        "1 month",
        "13 months",
        "5 years",
        "never",
    ]
    assert age_words(2000, short=True) == "5 y"


def test_never_seen_is_older_than_any_day() -> None:
    rooms = [("new", seen(TODAY)), ("never", seen(None)), ("empty", seen()), ("old", seen(date(2020, 1, 1)))]
    assert oldest_first(rooms) == ["never", "old", "new"]


@given(st.lists(st.floats(0.02, 50), min_size=1, max_size=25))
def test_rooms_are_to_scale_fill_the_frame_and_do_not_overlap(sizes: list[float]) -> None:
    drawn = boxes(sizes, 390, 300)
    scale = 390 * 300 / sum(sizes)
    for size, box in zip(sizes, drawn, strict=True):
        assert box.width * box.height == pytest.approx(size * scale, rel=1e-6)
        assert box.x >= -1e-6
        assert box.x + box.width <= 390 + 1e-6
        assert box.y + box.height <= 300 + 1e-6
    for place, one in enumerate(drawn):
        for other in drawn[place + 1 :]:
            across = min(one.x + one.width, other.x + other.width) - max(one.x, other.x)
            down = min(one.y + one.height, other.y + other.height) - max(one.y, other.y)
            assert min(across, down) < 1e-6


def test_the_worked_example_of_the_paper() -> None:
    """Bruls, Huizing and van Wijk (2000): areas 6 6 4 3 2 2 1 in a 6 by 4 frame; the first two stand left."""
    drawn = boxes([6, 6, 4, 3, 2, 2, 1], 6, 4)
    assert [(round(b.x, 2), round(b.y, 2), round(b.width, 2), round(b.height, 2)) for b in drawn[:4]] == [
        (0, 0, 3, 2),
        (0, 2, 3, 2),
        (3, 0, 1.71, 2.33),
        (4.71, 0, 1.29, 2.33),
    ]


def test_a_room_without_a_size_is_refused() -> None:
    with pytest.raises(ValueError, match="size"):
        boxes([1, 0], 10, 10)
