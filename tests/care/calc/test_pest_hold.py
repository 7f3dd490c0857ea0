"""Ways against pests: what must never be put through them, and how many days they take.

Days: US National Park Service, Conserve O Gram 3/6 and Strang 1992 (-20 °C, 6 to 10 days, bagged until thawed); Bergh
2006 (20 to 36 hours until the core is cold); museumpests.net (21 days under 0.5 % oxygen, Prussian blue, what is not
frozen).
Materials that crack or flake in the cold without a source: common practice, no source.
"""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.care.calc.pest_hold import METHODS, Stuff, against, days_of, until

FREEZE = METHODS["freeze20"]
FAMILIES = ("cloth", "knit", "leather", "fur", "metal", "hard plastic", "foam rubber", "soft pvc", "finish", "wood",
            "electric", "paper", "glass", "other")  # fmt: skip


def of(*materials: tuple[str, str], grams: int | None = 800, battery: bool = False) -> Stuff:
    return Stuff(materials, grams, battery)


@pytest.mark.parametrize(
    ("stuff", "words"),
    [
        (of(("foam latex", "foam rubber"), ("wool", "cloth")), ["foam latex and rubber stiffen"]),
        (of(("acrylic paint", "finish"), ("calf leather", "leather")), ["paint on leather or resin flakes"]),
        (of(("enamel paint", "finish"), ("polyester resin", "hard plastic")), ["paint on leather or resin flakes"]),
        (of(("oil paint", "finish"), ("canvas", "cloth")), ["paint and its ground"]),
        (of(("wax", "finish"), ("linen", "cloth")), ["wax cracks"]),
        (of(("glass", "glass"), ("brass", "metal")), ["glass set in metal cracks"]),
        (of(("porcelain", "glass"), ("silk", "cloth")), ["glass and ceramic trims"]),
        (of(("bone buttons", "wood"), ("wool", "cloth")), ["bone, ivory and shell"]),
        (of(("servo motor", "electric"), ("wool", "cloth")), ["batteries and electrics"]),
        (of(("wool", "cloth"), battery=True), ["batteries and electrics"]),
        (of(("magnetic tape", "paper")), ["magnetic tape"]),
        (of(("mystery stuff", "other")), ["nobody has said what kind of material “mystery stuff” is"]),
        (of(), ["nobody has said what it is made of"]),
        (of(("foam latex", "foam rubber"), ("glass", "glass")), ["foam latex", "glass and ceramic"]),
    ],
)
def test_what_is_never_frozen_is_refused_with_its_reason(stuff: Stuff, words: list[str]) -> None:
    said = against(FREEZE, stuff)
    assert len(said) == len(words)
    assert all(one.startswith(start) for one, start in zip(said, words, strict=True)), said
    assert against(METHODS["freeze30"], stuff) == said


@pytest.mark.parametrize(
    "stuff",
    [
        of(("wool", "cloth")),
        of(("black dye", "finish"), ("silk", "cloth")),
        of(("goose feather", "fur")),
        of(("calf leather", "leather"), ("brass", "metal")),
        of(("oak", "wood")),
    ],
)
def test_what_bears_the_cold_is_frozen(stuff: Stuff) -> None:
    assert against(FREEZE, stuff) == ()


def test_low_oxygen_asks_for_prussian_blue_and_for_the_materials() -> None:
    airless = METHODS["oxygen05"]
    assert against(airless, of(("foam latex", "foam rubber"))) == ()
    assert against(airless, of(("Prussian blue dye", "finish"))) == ("Prussian blue changes its colour without oxygen",)
    assert against(airless, of()) == ("nobody has said what it is made of",)


@pytest.mark.parametrize("stuff", [of(), of(("foam latex", "foam rubber")), of(("x", "other"), battery=True)])
def test_everything_may_be_kept_apart_and_looked_at(stuff: Stuff) -> None:
    assert against(METHODS["watch"], stuff) == ()
    assert days_of(METHODS["watch"], stuff, 14) == 14


@pytest.mark.parametrize(
    ("method", "stuff", "days"),
    [
        ("freeze20", of(("wool", "cloth")), 12),
        ("freeze20", of(("wool", "cloth"), grams=3001), 14),
        ("freeze20", of(("wool", "cloth"), grams=None), 14),
        ("freeze20", of(("sheepskin", "fur")), 14),
        ("freeze20", of(("wool wadding", "cloth")), 14),
        ("freeze30", of(("wool", "cloth")), 5),
        ("freeze30", of(("leather", "leather")), 7),
        ("oxygen05", of(("leather", "leather")), 21),
        ("oxygen01", of(("leather", "leather")), 10),
    ],
)
def test_days_follow_from_the_way_and_the_material(method: str, stuff: Stuff, days: int) -> None:
    assert days_of(METHODS[method], stuff, 14) == days
    # Over the end of a year, a leap day, and the night of the summer clock: calendar days are calendar days.
    for start in (date(2031, 12, 27), date(2032, 2, 20), date(2031, 3, 29)):
        assert (until(METHODS[method], stuff, 14, start) - start).days == days


@given(
    st.lists(st.tuples(st.text(max_size=12), st.sampled_from(FAMILIES)), max_size=5),
    st.sampled_from(FAMILIES),
    st.sampled_from(list(METHODS.values())),
)
def test_more_materials_never_make_it_safer(materials: list[tuple[str, str]], family: str, method: object) -> None:
    one = METHODS[getattr(method, "key", "watch")]
    less, more = Stuff(tuple(materials), 500), Stuff((*materials, ("x", family)), 500)
    if materials:
        assert len(against(one, more)) >= len(against(one, less))
        assert days_of(one, more, 14) >= days_of(one, less, 14)
