"""A found thing beside a missing one: each fact by itself, what is not known says nothing, and the sum ranks."""

from dataclasses import replace

import pytest

from catalog.storage.calc.likeness import KIND, MEASURE, MEASURES_COUNTED, PICTURE, Facts, likeness

POINTS = {"palm": "hand, round", "cuff": "cuff opening"}
FOUND = Facts(
    "gloves",
    "gloves",
    production="The Moor",
    materials=frozenset({"rubber"}),
    size_mark="9",
    weight_g=400,
    measures={"palm": 230},
    room="Main Hall",
)


def like(bits: int | None = None, **other: object):  # type: ignore[no-untyped-def]
    return likeness(FOUND, replace(FOUND, **other), POINTS, bits)  # type: ignore[arg-type]


def test_the_same_thing_agrees_in_everything() -> None:
    same = like(bits=3)
    assert same.differs == same.unknown == ()
    assert same.agrees == (
        "gloves",
        "production The Moor",
        "material rubber",
        "size mark 9",
        "hand, round the same",
        "weight",
        "last known in Main Hall, where this was found",
        "the pictures look alike",
    )


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"kind": "boots", "kind_word": "boots, shoes"}, "boots, shoes"),
        ({"production": "The Fen"}, "production The Fen, not The Moor"),
        ({"materials": frozenset({"leather"})}, "material leather"),
        ({"size_mark": "10"}, "size mark 10, not 9"),
        ({"measures": {"palm": 260}}, "hand, round 30 mm off"),
        ({"weight_g": 800}, "weight 50 % off"),
    ],
)
def test_what_does_not_agree_is_said_and_costs(other: dict[str, object], words: str) -> None:
    worse = like(**other)
    assert words in worse.differs
    assert worse.points < like().points


@pytest.mark.parametrize(
    ("other", "word"),
    [
        ({"production": ""}, "production"),
        ({"materials": frozenset()}, "materials"),
        ({"size_mark": ""}, "size mark"),
        ({"measures": {"cuff": 200}}, "measures"),
        ({"weight_g": None}, "weight"),
    ],
)
def test_what_is_not_known_says_nothing(other: dict[str, object], word: str) -> None:
    less = like(**other)
    assert word in less.unknown
    assert not less.differs
    assert 0 < less.points < like().points


@pytest.mark.parametrize(
    ("bits", "points"), [(None, 0.0), (0, PICTURE), (10, PICTURE), (11, PICTURE / 3), (18, PICTURE / 3), (19, 0.0)]
)
def test_a_picture_speaks_for_and_never_against(bits: int | None, points: float) -> None:
    assert like(bits=bits).points - like().points == pytest.approx(points, abs=0.001)


@pytest.mark.parametrize(("off", "points"), [(0, MEASURE), (10, MEASURE), (12, -MEASURE / 3), (21, -MEASURE)])
def test_a_measure_agrees_within_what_two_people_differ(off: int, points: float) -> None:
    none = like(measures={})
    assert like(measures={"palm": 230 + off}).points - none.points == pytest.approx(points, abs=0.001)


def test_many_measures_do_not_outweigh_the_kind() -> None:
    many = {f"p{n}": 100 + n for n in range(20)}
    both = replace(FOUND, measures=many)
    wrong = likeness(both, replace(both, kind="boots", measures=many), POINTS)
    assert MEASURES_COUNTED * MEASURE < 2 * KIND
    assert wrong.points < likeness(both, replace(both, measures={}), POINTS).points
